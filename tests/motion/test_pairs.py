"""Two motors on one axis."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.motion.pairs import Like, matching, not_compared

ONE = Like(ohm=3.0, steps_per_turn=200, henry=4e-3, newton_metre_per_ampere=0.3)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"ohm": 3.29}, True),
        ({"ohm": 3.4}, False),
        ({"henry": 4.7e-3}, True),
        ({"henry": 3e-3}, False),
        ({"newton_metre_per_ampere": 0.34}, False),
        ({"steps_per_turn": 400}, False),
        ({"henry": None, "newton_metre_per_ampere": None}, True),
    ],
)
def test_within_the_tolerances_they_match(change: dict[str, float | None], match: bool) -> None:
    found = matching([ONE, replace(ONE, **change)])
    assert found[0, 1] == match == found[1, 0] and found[0, 0] and found[1, 1]


def test_what_was_not_measured_is_said() -> None:
    assert not_compared(ONE, ONE) == ()
    assert not_compared(ONE, replace(ONE, henry=None)) == ("inductance",)
