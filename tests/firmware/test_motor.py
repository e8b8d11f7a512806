"""The sketch turns a motor that obeys physics: it holds where it can, skips where it must, the sensor tells."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.virtual.crate import port_motor
from tests.firmware import pin_motor

# Half a turn over, so that a shaft that never moved can't look like a pass.
STEPS = 500


def trip(host: Any, **move: int) -> tuple[Any, dict[str, Any]]:
    """Out and slowly back; the motor, and what the index input saw."""
    motor = port_motor("bench").running()
    host.ask("outputs", on=1)
    host.ask("zero")
    pin_motor.PinMotor(host.port, motor)
    host.wait(100)
    host.ask("trip", steps=STEPS, rest=150, back=300, **move)
    assert host.run_to_stop().fields == {"why": "end", "pos": 0, "left": 0}
    host.wait(150)
    return motor, host.ask("index").fields


@pytest.mark.parametrize("chip_name", ["atmega328p"], indirect=False)
def test_a_trip_the_motor_can_follow(host: Any) -> None:
    motor, index = trip(host, start=300, run=900, gain=3000)
    assert motor.full_steps_turned == pytest.approx(0, abs=0.3)
    assert index["count"] >= 8 and index["count"] % 2 == 0


@pytest.mark.parametrize("chip_name", ["atmega328p"], indirect=False)
def test_a_start_the_motor_can_not_follow(host: Any) -> None:
    """The board counts on, the shaft stays behind by whole cycles of four full steps."""
    motor, _ = trip(host, start=15_000, run=15_000, gain=1000)
    off_by = motor.full_steps_turned
    assert abs(off_by) > 3 and off_by / 4 == pytest.approx(round(off_by / 4), abs=0.1)
