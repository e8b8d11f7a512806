"""What the flag shows after a move: as it is offered, typed, and told."""

from __future__ import annotations

from coilbench.errors import InputProblem
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Outcome, off_by

_SEEN = {
    "back on its mark": CAME_BACK,
    "off by 1 slip": off_by(1),
    "off by 2 slips": off_by(2),
    "off by 3 slips": off_by(3),
    "off, slips not counted": off_by(),
    "can't tell": CANNOT_TELL,
}
FLAG_ANSWERS, FLAG_OUTCOMES = tuple(enumerate(_SEEN)), tuple(_SEEN.values())  # by digit
_TYPED = {"y": 0, "yes": 0, "0": 0, "n": 4, "no": 4, "?": 5, "skip": 5}
_MOST_JUMPS = 1000


def outcome_of_text(text: str) -> Outcome:
    """What became of a move: ``y`` or 0 for a flag on its mark, ``n``, so many jumps, ``?``. Raises InputProblem."""
    text = text.strip().lower()
    if text in _TYPED:
        return FLAG_OUTCOMES[_TYPED[text]]
    if not (text.lstrip("-").isdecimal() and abs(int(text)) <= _MOST_JUMPS):
        raise InputProblem("answer y, n, a number or ?")
    return off_by(int(text))


def outcome_words(outcome: Outcome) -> str:
    """What became of a move, in a few words."""
    if outcome.skipped is None:
        return "not counted"
    if not outcome.skipped:
        return "held"
    lost = outcome.missed_steps if outcome.missed_steps is not None else 4 * (outcome.jumps or 0)
    return f"lost {abs(lost):.0f} steps" if lost else "lost steps"
