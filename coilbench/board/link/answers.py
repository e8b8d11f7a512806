"""Fields of what a board says, as they must be: a frame can be whole and still lack what is needed."""

from __future__ import annotations

from collections.abc import Mapping

from coilbench.board.link.faults import LinkFault
from coilbench.board.link.frames import LARGEST_NUMBER, Value

_REMEDY = "put the sketch that came with this bench on it"
_RISE_OFF = 16  # cycles: what takes another chip a little longer; sketches/PROTOCOL.md section 3
# The lines of each group, as sketches/PROTOCOL.md section 4 names them.
PINS = {"driver": ("step", "dir", "enable", "active"), "coils": ("a", "b", "c", "d", "active"), "sense": ("index",)}


def whole(fields: Mapping[str, Value], name: str) -> int:
    """The whole number called ``name``. Raises LinkFault where there is none."""
    value = fields.get(name)
    if not isinstance(value, int):
        raise _odd(
            f"the board's answer lacks the number {name!r}" + ("" if value is None else f", it says {value!r}")
        )
    return value


def next_number(fields: Mapping[str, Value]) -> int:
    """The number that the board expects next. Raises LinkFault."""
    number = whole(fields, "next")
    if not 1 <= number <= LARGEST_NUMBER:
        raise _odd(f"the board expects number {number} next, which no line can carry")
    return number


def word(fields: Mapping[str, Value], name: str) -> str:
    """The word called ``name``. Raises LinkFault where there is none."""
    value = fields.get(name)
    if not isinstance(value, str):
        raise _odd(f"the board's answer lacks the word {name!r}" + ("" if value is None else f", it says {value!r}"))
    return value


def checked_pins(group: str, fields: dict[str, Value]) -> dict[str, Value]:
    """A group of the pin map. Raises LinkFault where a line is missing."""
    for name in PINS[group]:
        whole(fields, name)
    return fields


def checked_rates(lowest: int, highest: int, gain: int, steps: int) -> tuple[int, int, int, int]:
    """The board's limits. Raises LinkFault for such as no board has."""
    if not 1 <= lowest <= highest or gain < 1 or steps < 1:
        raise _odd(f"the board says it does {lowest} to {highest} steps/s, {gain} steps/s2 and {steps} steps")
    return lowest, highest, gain, steps


def checked_rise(asked: int, at: int) -> int:
    """After how many cycles the board looked. Raises LinkFault where that is far from what was ``asked``."""
    if abs(at - asked) > _RISE_OFF or at < 1:
        raise _odd(f"asked to look {asked} cycles after a rise, the board says it looked {at} after it")
    return at


def longest_s(fields: Mapping[str, Value]) -> float:
    """How long a move, trip or pace of these fields takes at the most, seconds: as if it never sped up."""
    if "each" in fields:
        return abs(whole(fields, "steps")) * whole(fields, "each") / 1000
    steps, out = abs(whole(fields, "steps")), min(whole(fields, "start"), whole(fields, "run"))
    back = min(whole(fields, "start"), whole(fields, "back")) if "back" in fields else 0
    return steps / out + (steps / back if back else 0.0) + whole({"rest": 0, **fields}, "rest") / 1000


def still_moving(port: str) -> LinkFault:
    """A motion doesn't end, or a stop stops nothing."""
    return LinkFault(
        f"the board on {port} says the motor is moving still, long after it must have ended",
        title="The board does not stop",
        remedy="switch off the motor's supply, then press the board's reset button",
    )


def _odd(happened: str) -> LinkFault:
    return LinkFault(happened, title="An odd answer", remedy=_REMEDY)
