"""Two motors on one axis."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.motion.pairs import Like, differences, not_compared

ONE = Like(ohm=3.0, steps_per_turn=200, henry=4e-3, newton_metre_per_ampere=0.3)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"ohm": 3.29}, ()),
        ({"ohm": 3.4}, ("resistance 13% apart",)),
        ({"henry": 4.7e-3}, ()),
        ({"henry": 3e-3}, ("inductance 33% apart",)),
        ({"newton_metre_per_ampere": 0.34}, ("torque constant 13% apart",)),
        ({"steps_per_turn": 400}, ("step angle 100% apart",)),
        ({"henry": None, "newton_metre_per_ampere": None}, ()),
    ],
)
def test_within_the_tolerances_they_match(change: dict[str, float | None], said: tuple[str, ...]) -> None:
    other = replace(ONE, **change)
    assert differences(ONE, other) == said == differences(other, ONE)


def test_what_was_not_measured_is_said() -> None:
    assert not_compared(ONE, ONE) == ()
    assert not_compared(ONE, replace(ONE, henry=None)) == ("inductance",)
