"""Why the value to begin with lies under the best estimate, and when to go up."""

from __future__ import annotations

from typing import Literal

Rests = Literal["soak", "untold test", "label", "size", "can"]

# By what the estimate rests on.
_WHY: dict[Rests, str] = {
    "soak": "a temperature-rise test has its doubt, and a mount may take less heat than the bench did",
    "untold test": "it isn't told whether the run's current was measured in the coils or set at a driver",
    "label": "a label counts on a metal mount, and on full heat being allowed",
    "size": "one in fifty motors of this size and ohms is rated so low",
    "can": "one in twenty round cans of this size and ohms is rated so low",
}
_GO_UP = (
    "if it seems weak, and the case can still be held after half an hour, go up by tenths to the best, and above it "
    "only by a temperature-rise test"
)
_SAY_FIRST = "say which before going up: the best may be twice what the coils carried"


def why_start(share: float, rests: Rests) -> str:
    """One sentence; ``share`` is the value to begin with over the best estimate."""
    then = _SAY_FIRST if rests == "untold test" else _GO_UP
    return (
        f"starts at {100 * share:.0f} % of the best estimate, {100 * share**2:.0f} % of its heat, because "
        f"{_WHY[rests]}; {then}"
    )
