"""What a virtual motor shows at the tests by hand for its phase order."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.board.virtual.windings import Windings
    from coilbench.winding.order.types import NextTest

# What a test shows by the places from its first lead to its second.
_ANSWERS = {
    "twitch": ("none", "cw", "none", "ccw"),
    "flick": ("plus", "none", "minus", "none"),
    "added": ("more", "same", "less", "same"),
    "free": ("holds", "holds", "free", "holds"),
    "drag": ("drags", "drags", "free", "drags"),
}


def shown(windings: Windings, test: NextTest) -> str:
    """What the shaft does, or the meter says: one of the test's answers; KeyError for a lead without a place."""
    places = windings.places
    if test.kind == "induced":
        phase = places[test.reference] % 2
        return next(each for each in test.answers if places[each.removeprefix("on ")] % 2 == phase)
    return _ANSWERS[test.kind][(places[test.touched] - places[test.reference]) % 4]
