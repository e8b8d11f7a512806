"""The slow turn: what may be seen of it, what to look at where it went wrong, and what a sensor's count corrects."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilbench.motion.trials import Shaft
from coilbench.stages.jog.setting import number_text

if TYPE_CHECKING:
    from coilbench.board.session.jog import TurnEnd

COUNTED = "counted"  # the slow turn was judged by the sensor alone
FARTHEST_STEPS = 6000.0  # to count a turn that nobody knows: three turns of the usual geared tin can, two minutes

_SEEN = {
    "yes, clockwise": "clockwise",
    "yes, anticlockwise": "anticlockwise",
    "hummed or jerked": "hummed",
    "stood still": "nothing",
    "not a whole turn": "part",
}
TURN_ANSWERS, TURN_SEEN = tuple(enumerate(_SEEN, 1)), tuple(_SEEN.values())
_TURN_SLACK, _HUMMED_TURNS = 0.01, 0.1  # of a virtual flag


def seen_by_virtual_flag(turn: TurnEnd) -> str:
    """How it looked, by as many turns as a virtual flag made; if far fewer, that it hummed."""
    assert turn.turns is not None
    if turn.counted is None and abs(abs(turn.turns) - 1) > _TURN_SLACK:
        return "part" if abs(turn.turns) > _HUMMED_TURNS else "hummed"
    return "clockwise" if turn.turns > 0 else "anticlockwise"


def remedy(seen: str) -> str:
    """What to look at when it went wrong; empty when it went well."""
    from coilbench.motion.before import SLOW_TURN_SEEN

    return next((each.remedy for each in SLOW_TURN_SEEN if each.key == seen), "")


def corrected_texts(turn: TurnEnd, shaft: Shaft) -> dict[str, str]:
    """The text that the sensor's count proves wrong, as it ought to be."""
    assert turn.counted is not None
    if shaft.flag_on == "output" and shaft.gear != 1:
        return {"gear": number_text(float(f"{turn.counted.steps_per_turn / shaft.steps_per_turn:.5g}"))}
    return {"turn": str(turn.counted.usual or round(turn.counted.steps_per_turn))}
