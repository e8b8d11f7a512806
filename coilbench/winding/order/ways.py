"""The ways to find the order: which tests belong to each, what each can show, and how far it is believed.

``usual`` are the twitch of the shaft and the kick of a meter. The others need no eye for a twitch: small alternating
volts induced in the other half of a phase (Elektor: Identifying stepper motors, note 090420, 2009; the magazine's
name from memory), halves that oppose each other and leave the shaft free, and the drag of a shorted coil (both weak:
a web page on stepper wires, meter and battery; common practice). Volts over two joined halves are a transformer's
polarity test, additive or subtractive (IEEE Std C57.12.90; from memory). A board with the leads on its clips sees the
kick by itself (``clips``): no way to choose, its kicks are there or aren't. None of these ways tells the direction.
"""

from __future__ import annotations

from collections.abc import Mapping

from coilbench.winding.order.types import Answer, OrderQuestion, TestKind, Way

KINDS: Mapping[Way, tuple[TestKind, ...]] = {
    "usual": ("twitch", "flick"),
    "volts": ("induced", "added"),
    "free": ("free",),
    "drag": ("drag",),
}

ANSWERS: Mapping[TestKind, tuple[Answer, ...]] = {
    "twitch": ("cw", "ccw", "none", "unsure"),
    "flick": ("plus", "minus", "none", "unsure"),
    "induced": ("most", "unsure"),
    "added": ("more", "less", "same", "unsure"),
    "free": ("free", "holds", "unsure"),
    "drag": ("drags", "free", "unsure"),
    "kick": ("plus", "minus", "none", "unsure"),
}

# Answers are taken to be wrong one time in ten (assumed). A drag is missed more often than imagined (how often:
# assumed): it is weak in small tin cans and through gears, and one published report felt none on a floppy drive's.
WRONG_ANSWER = 0.1
MISSED_DRAG = 0.3
# What a board saw is what four looks bear out (``readings.kick``); how often that is wrong: assumed.
WRONG_KICK = 0.01


def chance(kind: TestKind, right: str, seen: str, count: int) -> float:
    """How likely ``seen`` is where ``right`` would be, of ``count`` things that this test can show."""
    wrong = WRONG_KICK if kind == "kick" else WRONG_ANSWER
    if kind == "drag" and right == "drags":
        wrong = MISSED_DRAG
    return 1 - wrong if seen == right else wrong / (count - 1)


def ways_for(question: OrderQuestion) -> tuple[Way, ...]:
    """The ways that tell something of this motor.

    Six leads: resistance has paired their ends, and the direction shows in the shaft alone. Five leads: any two of
    them close a circuit, so a drag tells nothing.
    """
    if question.halves:
        return ("usual", "volts", "free", "drag")
    return ("usual",) if question.phases else ("usual", "volts", "free")


def way_of(kind: TestKind) -> Way:
    """The way that a test belongs to."""
    return next((way for way, kinds in KINDS.items() if kind in kinds), "clips")
