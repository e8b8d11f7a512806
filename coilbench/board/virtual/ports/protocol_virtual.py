"""``virtual://NAME?...``: a port with a virtual board and motor on it.

NAME is one of the motors of ``virtual.port_motors``, or ``meter`` (``meter_port`` beside this). With ``?clock=free``
the board's time passes as fast as it can be computed, in ``read`` alone, and ``monotonic`` tells it; with
``?clock=20`` at most twenty times as fast as the wall's. May follow: ``microsteps=``, ``load=`` (newton metre on
top of the motor's own), ``flywheel=`` (times its inertia), ``current=`` (the driver's limit, peak ampere),
``supply=`` (volt), ``gear=`` (rotor turns per turn of the flag), ``seed=`` (of how the motor varies from move to
move, and of the board's readings) and ``lines=``: with ``lines=0213`` the board's coil lines 1 to 4 are wired to the
ends that pull towards steps 0, 2, 1 and 3. On the board's clips hang the leads of the demo's motor that
``wound=`` names, else of the port's own, in their order or in that of ``clips=``: with ``clips=2013`` the third on
clip 1. ``bandgap=`` is the chip's own reference (volt, nominally 1.1), ``kept=`` what
its board remembers of it (millivolt).
"""

from __future__ import annotations

import threading
import time
from typing import Any
from urllib.parse import parse_qs, urlsplit

from serial import PortNotOpenError, SerialBase, SerialException

from coilbench.board.pins import PINS
from coilbench.board.virtual.board import VirtualBoard
from coilbench.board.virtual.crate import crate_motor, port_motor
from coilbench.board.virtual.windings import Windings

_MOST_CLIPS = len(PINS["clips"])
_SLICE_S = 0.005
_FAST_SLICE_S = 0.02  # of the board's time: the wait that belongs to it must not be too short for the system
_FASTEST = 1000.0
_CATCH_UP_S = 0.05


def serial_class_for_url(url: str) -> tuple[str, type[SerialBase]]:
    """What pyserial asks for: the class of the port that a URL names, a board's or a meter's."""
    from coilbench.board.virtual.ports import meter_port

    return url, meter_port.Serial if urlsplit(url).netloc == meter_port.NAME else Serial


class Serial(SerialBase):
    """A pyserial port; closing it unplugs the board."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        self._guard = threading.RLock()
        self._board: VirtualBoard | None = None
        super().__init__(*args, **kwargs)

    def open(self) -> None:
        """Plug a fresh board in, which starts with its hello."""
        if self.is_open:
            raise SerialException("Port is already open.")
        if self.port is None:
            raise SerialException("Port must be configured before it can be used.")
        options = {name: values[-1] for name, values in parse_qs(urlsplit(self.port).query).items()}
        name = urlsplit(self.port).netloc or "bench"
        try:
            seed = int(options.get("seed", "1"))
            microsteps = int(options.get("microsteps", "1"))
            load = float(options.get("load", "0"))
            flywheel = float(options.get("flywheel", "1"))
            peak_ampere, supply_volt = (
                float(options[each]) if each in options else None for each in ("current", "supply")
            )
            motor = port_motor(name).running(
                microsteps=microsteps,
                load_newton_metre=load,
                flywheel=flywheel,
                peak_ampere=peak_ampere,
                supply_volt=supply_volt,
                seed=seed,
            )
            motor.gear = float(options.get("gear", "1"))
            motor.lines = tuple(int(place) for place in options.get("lines", "0123"))
            jig = _jig(options, name)
            bandgap_volt = float(options.get("bandgap", "1.1"))
            kept_mv = int(options["kept"]) if "kept" in options else None
            if not 0.9 <= bandgap_volt <= 1.3:
                raise ValueError("a bandgap is 0.9 to 1.3 V")
            clock = options.get("clock", "wall")
            times = float("inf") if clock == "free" else 1.0 if clock == "wall" else float(clock)
            if clock not in ("free", "wall") and not 1 < times <= _FASTEST:
                raise ValueError(f"clock must be free, or how many times as fast, to {_FASTEST:g}")
            if sorted(motor.lines) != [0, 1, 2, 3] or not 1e-3 <= motor.gear <= 1e5:
                raise ValueError("lines must be the places 0 to 3, gear a number of turns")
        except ValueError as problem:
            raise SerialException(f"could not open port {self.port}: {problem}") from None
        self._board = VirtualBoard(motor, seed=seed)
        self._board.jig.windings, self._board.jig.order = jig
        self._board.converter.bandgap_mv = 1000 * bandgap_volt
        self._board.converter.kept_mv = kept_mv
        self._free = times > 1  # the board's time passes in ``read`` alone
        self._wait_s = _FAST_SLICE_S / times if self._free else _SLICE_S  # of the wall's clock, for each slice
        self._slice_s = _FAST_SLICE_S if self._wait_s else _SLICE_S
        self._began_s = time.monotonic()
        self._received = bytearray()
        self.is_open = True

    def close(self) -> None:
        """Unplug the board, once it has heard what was written, as the systems' ports do."""
        if self.is_open:
            with self._guard:
                self.board.drain()
        self.is_open = False

    @property
    def board(self) -> VirtualBoard:
        """The board on the port, for those who want to reach past the line."""
        if not self.is_open or self._board is None:
            raise PortNotOpenError()
        return self._board

    def put_input(self, channel: int, volt: float) -> None:
        """Put a voltage on an analogue input, as a trimmer that is turned does."""
        self.board.input_mv[channel] = 1000 * volt

    def monotonic(self) -> float:
        """The board's time, seconds: what a host on a free clock goes by, with the port closed under it, too."""
        if self._free and self._board is not None:
            return self._board.motion.now_s
        return time.monotonic() - self._began_s

    @property
    def in_waiting(self) -> int:
        """Bytes that can be read at once."""
        with self._guard:
            self._catch_up()
            return len(self._received)

    def read(self, size: int = 1) -> bytes:
        """Read up to ``size`` bytes, waiting for the first of them no longer than the time-out."""
        began_s = self.monotonic()
        while True:
            with self._guard:
                self._catch_up()
                if self._received:
                    data = bytes(self._received[:size])
                    del self._received[:size]
                    return data
                left_s = float("inf") if self.timeout is None else self.timeout - (self.monotonic() - began_s)
                if left_s <= 0:
                    return b""
                if self._free:
                    # Never less than a bit: a wait too short for the clock's last digit must pass too.
                    self.board.run(self.monotonic() + max(min(left_s, self._slice_s), 1e-5))
                behind = not self._free and self.monotonic() - self.board.motion.now_s > _CATCH_UP_S
            if self._free:
                if self._wait_s:
                    time.sleep(self._wait_s)
            elif not behind:
                time.sleep(min(left_s, _SLICE_S))

    def write(self, data: Any, /) -> int:
        """Give the board bytes at its present time, which on the wall clock is first brought up to now."""
        with self._guard:
            if not self._free and not self.board.motion.moving:
                self.board.run(self.monotonic())
            self.board.receive(bytes(data))
        return len(data)

    def reset_input_buffer(self) -> None:
        """Throw away what has not been read."""
        with self._guard:
            self._catch_up()
            self._received.clear()

    def reset_output_buffer(self) -> None:
        """Nothing is ever kept back."""

    def _catch_up(self) -> None:
        board = self.board
        if not self._free:
            # In slices, so that a frame written meanwhile does not wait for all that was missed.
            board.run(min(self.monotonic(), board.motion.now_s + _CATCH_UP_S))
        self._received += board.take()

    def _reconfigure_port(self) -> None:
        """Any rate will do."""

    def _update_rts_state(self) -> None:
        """No such line."""

    def _update_dtr_state(self) -> None:
        """No such line."""


def _jig(options: dict[str, str], name: str) -> tuple[Windings, tuple[int, ...]]:
    """What hangs on the clips, and which lead on each. Raises ValueError."""
    windings = (crate_motor(options["wound"]) if "wound" in options else port_motor(name)).windings
    leads = range(len(windings.leads))
    order = tuple(int(lead) for lead in options["clips"]) if "clips" in options else tuple(leads)
    if len(set(order)) < len(order) or not set(order) <= set(leads):
        raise ValueError(f"clips must be leads of the motor, 0 to {len(leads) - 1}, each once")
    return windings, order[:_MOST_CLIPS]
