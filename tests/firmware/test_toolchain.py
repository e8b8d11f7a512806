"""A missing toolchain skips these tests with a reason on a person's machine, and fails them in CI."""

from __future__ import annotations

import pytest

from tests.firmware import rig


def test_nothing_is_skipped_silently_in_ci() -> None:
    with pytest.raises(pytest.skip.Exception, match="not installed: avr-g\\+\\+; apt-get install gcc-avr"):
        rig.need(["avr-g++"], in_ci=False)
    with pytest.raises(pytest.fail.Exception, match="avr-g"):
        rig.need(["avr-g++"], in_ci=True)
    rig.need([], in_ci=True)


def test_runs_are_the_same_cycle_for_cycle() -> None:
    """The simulator is deterministic: figures can be asserted exactly."""
    logs = []
    for _ in range(2):
        with rig.open_simulated_board("atmega328p") as port:
            host = rig.Host(port)
            host.ask("outputs", on=1)
            host.ask("move", steps=500, start=1000, run=20_000, gain=100_000)
            host.run_to_stop()
            logs.append(port.chip.edges().tobytes())
    assert logs[0] == logs[1]
