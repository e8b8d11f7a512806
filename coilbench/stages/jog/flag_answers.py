"""What the flag shows after a move, and on which way it shook worse: as it is offered, typed, and told."""

from __future__ import annotations

from coilbench.errors import InputProblem
from coilbench.motion.trials import ALIKE, BACK_WORSE, CAME_BACK, CANNOT_TELL, OUT_WORSE, Outcome, off_by

_SEEN = {
    "back on its mark": CAME_BACK,
    "off by 1 slip": off_by(1),
    "off by 2 slips": off_by(2),
    "off by 3 slips": off_by(3),
    "off, slips not counted": off_by(),
    "can't tell": CANNOT_TELL,
}
_FELT = {
    "on the way out": OUT_WORSE,
    "on the way back": BACK_WORSE,
    "no difference": ALIKE,
    "can't tell": CANNOT_TELL,
}
FLAG_ANSWERS, FELT_ANSWERS = tuple(enumerate(_SEEN)), tuple(enumerate(_FELT, 1))
_TYPED = {"y": 0, "yes": 0, "0": 0, "n": 4, "no": 4, "?": 5, "skip": 5}
_FELT_TYPED = {"out": 1, "o": 1, "back": 2, "b": 2, "same": 3, "?": 4, "skip": 4} | {
    str(digit): digit for digit, _ in FELT_ANSWERS
}
_TOLD = {"out worse": "worse on the way out", "back worse": "worse on the way back", "alike": "no difference"}
_MOST_JUMPS = 1000


def outcome_of_digit(digit: int, *, felt: bool = False) -> Outcome:
    """The answer that is offered with this digit; ``felt``: of those on which way it shook worse."""
    return tuple(_FELT.values())[digit - 1] if felt else tuple(_SEEN.values())[digit]


def outcome_of_text(text: str, *, felt: bool = False) -> Outcome:
    """What became of a move: ``y`` or 0 for a flag on its mark, ``n``, so many jumps, ``?``. Raises InputProblem.

    ``felt``: on which way it shook worse, ``out``, ``back``, ``same``, ``?``, or the digit it is offered with.
    """
    text = text.strip().lower()
    typed = _FELT_TYPED if felt else _TYPED
    if text in typed:
        return outcome_of_digit(typed[text], felt=felt)
    if felt:
        raise InputProblem("answer 1 or out, 2 or back, 3 or same, or ?")
    if not (text.lstrip("-").isdecimal() and abs(int(text)) <= _MOST_JUMPS):
        raise InputProblem("answer y, n, a number or ?")
    return off_by(int(text))


def outcome_words(outcome: Outcome) -> str:
    """What became of a move, in a few words."""
    if outcome.kind in _TOLD:
        return _TOLD[outcome.kind]
    if outcome.skipped is None:
        return "not counted"
    if not outcome.skipped:
        return "held"
    lost = outcome.missed_steps if outcome.missed_steps is not None else 4 * (outcome.jumps or 0)
    return f"lost {abs(lost):.0f} steps" if lost else "lost steps"
