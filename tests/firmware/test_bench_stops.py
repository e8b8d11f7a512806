"""The whole bench as a person runs it, on a terminal and a serial port of its own, against the compiled sketch.

A slow turn is under way; then every way to end it: by key, by closing, by killing, by pulling the cable.
"""

from __future__ import annotations

import os
import pty
import signal
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from fcntl import ioctl
from pathlib import Path
from typing import Any

import pytest

from coilbench.records.saved.jog import Figures, Jog, SavedShaft
from coilbench.stages.desk import Desk
from tests.firmware import rig
from tests.firmware.wire import Wire
from tests.support.more import some

CYCLES_PER_MS = 16_000
WATCHED_MS = 900  # from the end of the bench on: longer than any step may come late
BENCH = """
import sys
from pathlib import Path
from coilbench.board.link.ports import PortChoice
from coilbench.ui.app import run_bench
ports = [PortChoice(sys.argv[1], "the board", usb=True)]
raise SystemExit(run_bench(bin_path=Path(sys.argv[2]), demo=False, find_ports=lambda: ports))
"""
F3, F5, F6 = b"\x1bOR", b"\x1b[15~", b"\x1b[17~"
TURN = Jog(drives=(Figures(shaft=SavedShaft(steps_per_turn=480)),))  # near ten seconds of turning


class Bench:
    """The bench on a terminal of 80x24, its screen thrown away."""

    def __init__(self, port: str, bin_path: Path, wire: Any) -> None:
        self.wire = wire
        self.terminal, far_end = pty.openpty()
        ioctl(far_end, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        os.set_blocking(self.terminal, False)
        self.seen = b""
        self.process = subprocess.Popen(
            [sys.executable, "-c", BENCH, port, str(bin_path)],
            stdin=far_end,
            stdout=far_end,
            stderr=far_end,
            start_new_session=True,
            env={**os.environ, "TERM": "xterm-256color", "XDG_STATE_HOME": str(bin_path.parent / "state")},
        )
        os.close(far_end)

    def look(self) -> None:
        """Take what it has drawn."""
        if self.terminal < 0:
            return
        try:
            while data := os.read(self.terminal, 65536):
                self.seen += data
        except (BlockingIOError, OSError):
            pass

    def until(self, true: Any, most_s: float = 30.0) -> None:
        """Let the board's time pass until something has come about."""
        until_s = time.monotonic() + most_s
        while not true():
            if time.monotonic() > until_s:
                pytest.fail(f"waited in vain; last drawn: {self.seen[-1500:]!r}")
            self.wire.run_ms(20)
            self.look()

    def shows(self, text: str) -> None:
        """Wait until a text was drawn."""
        self.until(lambda: text.encode() in self.seen)

    def press(self, keys: bytes) -> None:
        """Type."""
        self.seen = b""
        os.write(self.terminal, keys)

    def turn_slowly(self) -> None:
        """To the jog stage, and its slow turn well under way."""
        self.shows("vent")
        self.press(b"\r")
        self.shows("put the probes on")
        for title in ("order", "ratings", "connection", "driver", "jog"):
            self.press(F3)
            self.shows(f"{title}, stage")
        self.press(F5)
        self.shows("one slow turn (F6)")
        self.press(F6)
        self.shows("hair, sleeves and leads are clear")  # asked once, before anything moves
        assert not len(self.wire.chip.rises(self.wire.chip.pins["step"]))
        self.press(b"y")
        chip = self.wire.chip
        self.until(lambda: len(chip.rises(chip.pins["step"])) > 15)

    def close_terminal(self) -> None:
        """The window is closed."""
        os.close(self.terminal)
        self.terminal = -1

    def end(self) -> None:
        self.process.kill()
        self.process.wait()
        if self.terminal >= 0:
            os.close(self.terminal)


@pytest.fixture
def wire() -> Iterator[Any]:
    made = Wire(rig.new_chip("atmega328p"))
    yield made
    made.close()


@pytest.fixture
def bench(wire: Any, tmp_path: Path) -> Iterator[Bench]:
    from coilbench.records.store import Bin

    with Bin.open(tmp_path / "motors.db") as bin_:
        bin_.add_motor("vent", ["RD", "BU", "GN", "BK"])
        Desk(bin_, "vent").keep("jog", TURN)
    made = Bench(wire.path, tmp_path / "motors.db", wire)
    yield made
    made.end()


@pytest.mark.parametrize(
    ("way", "most_ms"),
    some(
        [
            ("space", 300),
            ("escape", 500),  # a lone Esc is waited for, lest it begins a key's code
            ("quit", 600),
            ("window gone", 700),
            ("hang up", 700),
            ("terminate", 700),
            ("kill", 700),
        ],
        of=(("window gone", 700), ("kill", 700)),
        rows=True,
    ),
)
def test_every_end_of_the_bench_ends_the_motion(bench: Bench, wire: Any, way: str, most_ms: int) -> None:
    step = wire.chip.pins["step"]
    bench.turn_slowly()
    began = wire.chip.cycle
    if way in ("space", "escape", "quit"):
        bench.press({"space": b" ", "escape": b"\x1b", "quit": b"\x11"}[way])
    elif way == "window gone":  # and no signal comes
        bench.close_terminal()
    else:
        sent = {"hang up": signal.SIGHUP, "terminate": signal.SIGTERM, "kill": signal.SIGKILL}
        bench.process.send_signal(sent[way])
    bench.until(lambda: wire.chip.cycle > began + WATCHED_MS * CYCLES_PER_MS)
    rises = wire.chip.rises(step)
    took_ms = (int(rises[-1]) - began) / CYCLES_PER_MS
    print(f"{way}: last step after {took_ms:.0f} ms")
    assert took_ms <= most_ms
    assert wire.chip.outputs_off
    if way in ("space", "escape"):
        assert bench.process.poll() is None  # it stopped, and did not leave
    else:
        bench.until(lambda: bench.process.poll() is not None)
    if way in ("quit", "hang up", "terminate"):
        assert b"\x1b[?1049l" in bench.seen  # the terminal is given back as it was


def test_a_pulled_cable_ends_the_motion_and_is_said(bench: Bench, wire: Any) -> None:
    step = wire.chip.pins["step"]
    bench.turn_slowly()
    wire.pull()
    began = wire.chip.cycle
    bench.until(lambda: wire.chip.cycle > began + WATCHED_MS * CYCLES_PER_MS)
    took_ms = (int(wire.chip.rises(step)[-1]) - began) / CYCLES_PER_MS
    print(f"cable: last step after {took_ms:.0f} ms")
    assert took_ms <= 600 and wire.chip.outputs_off
    bench.shows("Board unplugged")
    assert bench.process.poll() is None
