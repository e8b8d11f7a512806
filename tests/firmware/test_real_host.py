"""The bench's own client, as a process on a real serial device, against the sketch: what if it dies in a move."""

from __future__ import annotations

import os
import select
import subprocess
import sys
import time
import tty
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest

CYCLES_PER_MS = 16_000
CLIENT = """
import sys, time
from coilbench.board.client import Helper
helper = Helper.open(sys.argv[1])
helper.ask("outputs", on=1)
helper.ask("move", steps=2_000_000, start=1000, run=20_000, gain=100_000)
while True:
    helper.ask("beat")
    time.sleep(0.1)
    if sys.argv[2] == "close" and helper.ask("beat")["pos"] > 6000:
        helper.link.close()
        time.sleep(60)
"""


class Wire:
    """A pseudo-terminal with the simulated chip on its far end, at the pace of the wall clock or slower."""

    def __init__(self, chip: Any) -> None:
        self.chip = chip
        self.master, far_end = os.openpty()
        tty.setraw(far_end)
        self.path = os.ttyname(far_end)
        os.close(far_end)  # so that it can be seen when the client opens it
        os.set_blocking(self.master, False)
        self.poll = select.poll()
        self.poll.register(self.master, select.POLLIN)
        self.opened = False

    def run(self, ms: int) -> None:
        """Let virtual milliseconds pass."""
        for _ in range(ms):
            due = time.monotonic() + 0.001
            self._carry()
            self.chip.run(CYCLES_PER_MS)
            time.sleep(max(due - time.monotonic(), 0))

    def _carry(self) -> None:
        events = dict(self.poll.poll(0)).get(self.master, 0)
        hung_up = bool(events & select.POLLHUP)
        if not hung_up and not self.opened:
            self.chip.reset()  # a board that resets as its port is opened
        self.opened = not hung_up
        if not self.opened:
            self.chip.line_read()
            return
        if events & select.POLLIN:
            self.chip.line_write(os.read(self.master, 4096))
        data = self.chip.line_read()
        if data:
            os.write(self.master, data)

    def close(self) -> None:
        os.close(self.master)


@pytest.fixture
def wire(rig: ModuleType) -> Iterator[Wire]:
    made = Wire(rig.new_chip("atmega328p"))
    yield made
    made.close()
    made.chip.close()


@pytest.mark.parametrize("end", ["kill", "close"])
def test_the_host_dies_in_a_move(wire: Wire, end: str) -> None:
    """Killed with -9, or its port closed: at 20,000 steps/s motion ends within 0.6 s and outputs are off."""
    with subprocess.Popen([sys.executable, "-c", CLIENT, wire.path, end]) as client:
        try:
            for _ in range(100):
                wire.run(100)
                steps = len(wire.chip.rises(wire.chip.pins["step"]))
                if end == "kill" and steps > 6000:
                    client.kill()
                    client.wait()
                    break
                if end == "close" and steps > 1000 and not wire.opened:
                    break
            else:
                pytest.fail("the client moved nothing")
            ended_at = wire.chip.cycle
            wire.run(700)
        finally:
            client.kill()
    rises = wire.chip.rises(wire.chip.pins["step"])
    assert int(rises[-1]) - ended_at <= 600 * CYCLES_PER_MS
    assert wire.chip.outputs_off
