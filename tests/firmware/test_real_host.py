"""The bench's own client, as a process on a real serial device, against the sketch: what if it dies in a move."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest

from tests.firmware import rig
from tests.firmware.wire import Wire

CYCLES_PER_MS = 16_000
# Beats with the wall's clock; the simulated board's may be slower, never faster.
CLIENT = """
import sys, time
from coilbench.board.client.client import Helper
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


@pytest.fixture
def wire(chip_name: str) -> Iterator[Any]:
    made = Wire(rig.new_chip(chip_name))
    yield made
    made.close()


@pytest.mark.parametrize("end", ["kill", "close", "freeze"])
def test_the_host_dies_in_a_move(wire: Any, end: str) -> None:
    """Killed with -9, its port closed, or hung: at 20,000 steps/s motion ends within 0.6 s and outputs are off."""
    with subprocess.Popen([sys.executable, "-c", CLIENT, wire.path, end]) as client:
        try:
            for _ in range(100):
                wire.run_ms(100)
                steps = len(wire.chip.rises(wire.chip.pins["step"]))
                if end == "close" and steps > 1000 and not wire.opened:
                    break
                if end != "close" and steps > 6000:
                    client.send_signal(signal.SIGKILL if end == "kill" else signal.SIGSTOP)
                    break
            else:
                pytest.fail("the client moved nothing")
            ended_at = wire.chip.cycle
            assert not wire.chip.outputs_off
            wire.run_ms(700)
        finally:
            client.kill()
    rises = wire.chip.rises(wire.chip.pins["step"])
    assert 16e6 / (rises[-1] - rises[-2]) == pytest.approx(20_000, rel=0.05)  # was at full speed to the end
    assert int(rises[-1]) - ended_at <= 600 * CYCLES_PER_MS
    assert wire.chip.outputs_off
