"""The compiled sketch on a simulated chip, in virtual time: pins, shaft, serial line."""

from __future__ import annotations

import ctypes
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

FREQUENCY_HZ = 16_000_000
QUANTUM_CYCLES = 1600  # 100 us: how finely a waiting read moves time on

# Atmel: ATmega328P data sheet 8271, table "Reset and Interrupt Vectors", and ATmega2560 data sheet 2549 likewise
# (number - 1; the sheets' numbers from memory).
VECTORS = {
    "atmega328p": {"index": 1, "compare": 11},
    "atmega2560": {"index": 5, "compare": 17},
}
VECTORS["atmega1280"] = VECTORS["atmega2560"]  # the same sheet
Pins = Mapping[str, Any]
# As board_config.h has them; a test compares these with what the board reports.
PINS: dict[str, Pins] = {
    "atmega328p": {"step": "D5", "dir": "D6", "enable": "D7", "index": "D2", "coils": ("B0", "B1", "B2", "B3")},
    "atmega2560": {"step": "E3", "dir": "H3", "enable": "H4", "index": "E4", "coils": ("A0", "A1", "A2", "A3")},
}
PINS["atmega1280"] = PINS["atmega2560"]
EDGE = np.dtype([("cycle", "u8"), ("watch", "u4"), ("level", "u4")])

_P, _I, _L, _U64, _SIZE = ctypes.c_void_p, ctypes.c_int, ctypes.c_long, ctypes.c_uint64, ctypes.c_size_t
_SIGNATURES: dict[str, tuple[Any, list[Any]]] = {
    "new": (_P, [ctypes.c_char_p, ctypes.c_uint32, ctypes.c_char_p]),
    "free": (None, [_P]),
    "reset": (None, [_P]),
    "run": (_I, [_P, _U64]),
    "run_to_bytes": (_I, [_P, _U64, _U64, _SIZE]),
    "hang": (None, [_P]),
    "mend": (None, [_P]),
    "cycle": (_U64, [_P]),
    "watch": (_I, [_P, _I, _I]),
    "edges": (_SIZE, [_P, ctypes.POINTER(_P)]),
    "forget_edges": (None, [_P]),
    "drive_pin": (None, [_P, _I, _I, _I]),
    "drive_pin_at": (None, [_P, _U64, _I, _I, _I]),
    "fit_shaft": (None, [_P, _I, _I, _I, _I, _I, _L, _L]),
    "position": (_L, [_P]),
    "data": (ctypes.c_uint8, [_P, ctypes.c_uint32]),
    "eeprom": (ctypes.c_uint8, [_P, ctypes.c_uint16]),
    "set_data": (None, [_P, ctypes.c_uint32, ctypes.c_uint8]),
    "analog": (None, [_P, _I, _I]),
    "supply": (None, [_P, _I]),
    "fit_jig": (None, [_P, _P, ctypes.POINTER(_I)]),
    "jig": (_P, [_P]),
    "longest_driven": (_U64, [_P]),
    "vector_stat": (None, [_P, _I, ctypes.POINTER(_U64)]),
    "forget_vectors": (None, [_P]),
    "late_compares": (_U64, [_P]),
    "watchdog_resets": (_U64, [_P]),
    "line_write": (None, [_P, ctypes.c_char_p, _SIZE]),
    "line_pending": (_SIZE, [_P]),
    "line_read": (_SIZE, [_P, ctypes.c_char_p, _SIZE]),
    "line_waiting": (_SIZE, [_P]),
    "receive_overruns": (_U64, [_P]),
    "line_speed": (None, [_P, ctypes.c_uint32]),
    "exchange": (_SIZE, [_P, ctypes.c_char_p, _SIZE, _U64]),
}


class BenchLibrary:
    """The functions of harness/avr_bench.c."""

    def __init__(self, path: Path) -> None:
        library = ctypes.CDLL(str(path))
        for name, (result, arguments) in _SIGNATURES.items():
            function = getattr(library, f"bench_{name}")
            function.restype, function.argtypes = result, arguments
            setattr(self, name, function)

    def __getattr__(self, name: str) -> Any:  # for the type checker: all are set above
        raise AttributeError(name)


@dataclass(frozen=True)
class VectorStat:
    """How often an interrupt ran and for how many cycles, entry and return included."""

    count: int
    mean: float
    shortest: int
    longest: int


@dataclass
class SimulatedChip:
    """One chip with the sketch in it. Pins are named as in data sheets: ``D5`` is bit 5 of port D."""

    library: BenchLibrary
    chip: str
    elf: Path
    pins: Pins
    watched: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self._bench = self.library.new(self.chip.encode(), FREQUENCY_HZ, str(self.elf).encode())
        if not self._bench:
            raise RuntimeError(f"cannot load {self.elf}")
        for pin in (self.pins["step"], self.pins["dir"], self.pins["enable"], *self.pins["coils"]):
            self.watch(pin)

    def close(self) -> None:
        """Give the chip's memory back."""
        if self._bench:
            self.library.free(self._bench)
            self._bench = None

    def run(self, cycles: int) -> None:
        """Let ``cycles`` CPU cycles pass."""
        if self.library.run(self._bench, int(cycles)):
            raise RuntimeError("the sketch crashed")

    def run_to_bytes(self, cycles: int, wanted: int) -> None:
        """Let ``cycles`` pass, or fewer when ``wanted`` bytes from the chip wait before."""
        if self.library.run_to_bytes(self._bench, cycles, QUANTUM_CYCLES, wanted):
            raise RuntimeError("the sketch crashed")

    def run_ms(self, ms: float) -> None:
        """Let ``ms`` milliseconds pass."""
        self.run(round(ms * FREQUENCY_HZ / 1000))

    @property
    def cycle(self) -> int:
        return int(self.library.cycle(self._bench))

    @property
    def seconds(self) -> float:
        return self.cycle / FREQUENCY_HZ

    def reset(self) -> None:
        """As by the reset button."""
        self.library.reset(self._bench)

    def hang(self) -> None:
        """The program gets stuck where it is; only the watchdog helps."""
        self.library.hang(self._bench)

    def mend(self) -> None:
        """It will not get stuck there again."""
        self.library.mend(self._bench)

    def memory(self, address: int) -> int:
        """A byte of the data space."""
        return int(self.library.data(self._bench, address))

    def eeprom(self, address: int) -> int:
        """A byte of what outlives a reset."""
        return int(self.library.eeprom(self._bench, address))

    def set_memory(self, address: int, value: int, size: int) -> None:
        """Put ``size`` bytes into the data space."""
        for place, byte in enumerate(value.to_bytes(size, "little", signed=value < 0)):
            self.library.set_data(self._bench, address + place, byte)

    def watch(self, pin: str) -> None:
        """Note every edge of ``pin`` from now on."""
        if pin not in self.watched:
            self.watched[pin] = self.library.watch(self._bench, ord(pin[0]), int(pin[1]))

    def edges(self, pin: str | None = None) -> np.ndarray[Any, Any]:
        """Edges since the last ``forget_edges``: cycle, watch, level; of one pin, or of all watched ones."""
        first = _P()
        count = self.library.edges(self._bench, ctypes.byref(first))
        if not count:
            return np.zeros(0, EDGE)
        assert first.value is not None
        raw = (ctypes.c_char * (count * EDGE.itemsize)).from_address(first.value)
        edges = np.frombuffer(raw, EDGE).copy()
        return edges if pin is None else edges[edges["watch"] == self.watched[pin]]

    def rises(self, pin: str) -> np.ndarray[Any, Any]:
        """Cycles at which ``pin`` went high."""
        edges = self.edges(pin)
        return edges["cycle"][edges["level"] == 1].astype(np.int64)

    def forget_edges(self) -> None:
        self.library.forget_edges(self._bench)

    def drive(self, pin: str, level: int) -> None:
        """Put a level on an input pin."""
        self.library.drive_pin(self._bench, ord(pin[0]), int(pin[1]), level)

    def drive_at(self, cycle: int, pin: str, level: int) -> None:
        """The same at an exact cycle; cycles must come in ascending order."""
        self.library.drive_pin_at(self._bench, cycle, ord(pin[0]), int(pin[1]), level)

    def is_driven_high(self, pin: str) -> bool | None:
        """Level the chip puts on ``pin``; None while it is an input."""
        letter, bit = pin[0], int(pin[1])
        base = 0x20 + 3 * (ord(letter) - ord("A")) if letter < "H" else 0x100 + 3 * "HJKL".index(letter)
        if not self.memory(base + 1) >> bit & 1:
            return None
        return bool(self.memory(base + 2) >> bit & 1)

    @property
    def outputs_off(self) -> bool:
        """Driver not enabled and no coil line on."""
        coils_off = all(self.is_driven_high(pin) is not True for pin in self.pins["coils"])
        return self.is_driven_high(self.pins["enable"]) is not False and coils_off

    def fit_shaft(self, steps_per_turn: int, slot_steps: int) -> None:
        """A shaft on STEP, DIR and ENABLE that never skips; its flag drives the index input high in the slot."""
        watch, index = self.watched, self.pins["index"]
        lines = [watch[self.pins[name]] for name in ("step", "dir", "enable")]
        self.library.fit_shaft(self._bench, *lines, ord(index[0]), int(index[1]), steps_per_turn, slot_steps)

    @property
    def shaft_position(self) -> int:
        return int(self.library.position(self._bench))

    def analog(self, channel: int, millivolt: int) -> None:
        self.library.analog(self._bench, channel, millivolt)

    def supply(self, millivolt: int) -> None:
        self.library.supply(self._bench, millivolt)

    def fit_jig(self, jig: ctypes.Structure, pins: Sequence[str]) -> None:
        """A circuit of harness/jig.h: clip n on the digital pin ``pins[n]`` and analogue channel n."""
        places = [number for pin in pins for number in (ord(pin[0]), int(pin[1]))]
        self.library.fit_jig(self._bench, ctypes.byref(jig), (_I * len(places))(*places))

    @property
    def jig_address(self) -> int:
        """Where the fitted circuit lies in memory, as it stands."""
        return int(self.library.jig(self._bench))

    @property
    def longest_driven_s(self) -> float:
        """How long a clip has been driven on end at the most, seconds."""
        return int(self.library.longest_driven(self._bench)) / FREQUENCY_HZ

    def vector(self, name: str) -> VectorStat:
        """Statistics of the interrupt ``name`` (index, compare) since ``forget_vectors``."""
        out = (_U64 * 4)()
        self.library.vector_stat(self._bench, VECTORS[self.chip][name], out)
        return VectorStat(out[0], out[1] / out[0] if out[0] else 0.0, out[2], out[3])

    def forget_vectors(self) -> None:
        self.library.forget_vectors(self._bench)

    @property
    def late_compares(self) -> int:
        return int(self.library.late_compares(self._bench))

    @property
    def watchdog_resets(self) -> int:
        return int(self.library.watchdog_resets(self._bench))

    @property
    def receive_overruns(self) -> int:
        return int(self.library.receive_overruns(self._bench))

    def line_write(self, data: bytes) -> None:
        """Queue bytes on the line to the chip; they arrive back to back from now on."""
        self.library.line_write(self._bench, data, len(data))

    def line_speed(self, cycles_per_byte: int) -> None:
        """The line at both ends at another speed than the sketch's, until the next call; 0: at its own."""
        self.library.line_speed(self._bench, cycles_per_byte)

    def exchange(self, lines: bytes, patience_ms: float = 20) -> bytes:
        """Say ``lines`` one by one, each when the one before was answered; all that was said back.

        RuntimeError when one is not answered within ``patience_ms``.
        """
        written = self.library.exchange(self._bench, lines, len(lines), round(patience_ms * FREQUENCY_HZ / 1000))
        said = self.line_read(1_000_000)
        if written < len(lines):
            raise RuntimeError(f"no answer to {lines[:written].splitlines()[-1]!r}; the last was {said[-120:]!r}")
        return said

    @property
    def line_pending(self) -> int:
        """Bytes queued that have not started down the line."""
        return int(self.library.line_pending(self._bench))

    def line_read(self, most: int = 65536) -> bytes:
        """Bytes from the chip whose stop bit is over."""
        room = ctypes.create_string_buffer(most)
        count = self.library.line_read(self._bench, room, most)
        return room.raw[:count]

    @property
    def line_waiting(self) -> int:
        return int(self.library.line_waiting(self._bench))


class VirtualSerial:
    """Looks like a pyserial port; a read that waits lets the chip's time pass, nothing else does."""

    def __init__(self, chip: SimulatedChip, *, timeout: float | None = 1.0) -> None:
        self.chip = chip
        self.timeout = timeout
        self.write_timeout: float | None = None
        self.baudrate = 115200
        self.port = self.name = f"simulated-{chip.chip}"
        self.is_open = True
        self.after_quantum: Callable[[], None] | None = None  # e.g. a motor on the pins

    def _pass(self, cycles: int) -> None:
        self.chip.run(cycles)
        if self.after_quantum:
            self.after_quantum()

    def read(self, size: int = 1) -> bytes:
        """Up to ``size`` bytes; waits ``timeout`` virtual seconds for them (10 when None)."""
        wait_s = 10.0 if self.timeout is None else self.timeout
        end = self.chip.cycle + math.ceil(wait_s * FREQUENCY_HZ) + 1  # time passes even for the shortest wait
        if self.after_quantum is None:
            self.chip.run_to_bytes(end - self.chip.cycle, size)
        while self.chip.line_waiting < size and self.chip.cycle < end:
            self._pass(min(QUANTUM_CYCLES, end - self.chip.cycle))
        return self.chip.line_read(size)

    def read_until(self, expected: bytes = b"\n", size: int | None = None) -> bytes:
        """Bytes up to and with ``expected``, or what came before the timeout."""
        got = b""
        while not got.endswith(expected) and (size is None or len(got) < size):
            byte = self.read(1)
            if not byte:
                break
            got += byte
        return got

    def readline(self) -> bytes:
        return self.read_until(b"\n")

    def write(self, data: bytes) -> int:
        self.chip.line_write(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Let time pass until what was written is on the line."""
        while self.chip.line_pending:
            self._pass(QUANTUM_CYCLES)

    @property
    def in_waiting(self) -> int:
        return self.chip.line_waiting

    @property
    def out_waiting(self) -> int:
        return self.chip.line_pending

    def reset_input_buffer(self) -> None:
        self.chip.line_read()

    def reset_output_buffer(self) -> None:
        """Nothing to do: the line takes what it is given."""

    def monotonic(self) -> float:
        """The chip's clock, seconds: to be injected where the host would read its own."""
        return self.chip.seconds

    def sleep(self, seconds: float) -> None:
        """Let time pass."""
        end = self.chip.cycle + round(seconds * FREQUENCY_HZ)
        while self.chip.cycle < end:
            left = end - self.chip.cycle
            self._pass(min(QUANTUM_CYCLES, left) if self.after_quantum else left)

    def close(self) -> None:
        self.is_open = False

    def __enter__(self) -> VirtualSerial:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
