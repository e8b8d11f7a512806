"""Steps: exact counts and rates, pulse widths and jitter in cycles, with the protocol in use."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

CYCLES_PER_SECOND = 16_000_000


def pulses(chip: Any) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Cycles at which STEP rose and fell."""
    edges = chip.edges(chip.pins["step"])
    rose = edges["cycle"][edges["level"] == 1].astype(np.int64)
    fell = edges["cycle"][edges["level"] == 0].astype(np.int64)
    return rose, fell[-len(rose) :]


@pytest.mark.parametrize("rate", [10, 37, 1000, 8000, 60_000, 100_000])
def test_a_move_without_ramp_is_exact(host: Any, rate: int) -> None:
    steps = max(rate // 4, 8)
    host.ask("outputs", on=1)
    host.chip.forget_edges()
    host.ask("move", steps=steps, start=rate, run=rate, gain=1000)
    stop = host.run_to_stop()
    assert stop.fields == {"why": "end", "pos": steps, "left": 0}
    rose, fell = pulses(host.chip)
    assert len(rose) == steps
    nominal = CYCLES_PER_SECOND / rate
    # Mean rate: exact but for the lateness of the first and the last step.
    assert abs((rose[-1] - rose[0]) / (steps - 1) - nominal) * (steps - 1) <= 40
    assert np.abs(np.diff(rose) - nominal).max() <= 30
    assert (fell - rose).min() >= 40 and (rose[1:] - fell[:-1]).min() >= 40  # 2.5 us
