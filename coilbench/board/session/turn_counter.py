"""Counting the steps of a turn by the index sensor's edges, told by the board while it turns one way."""

from __future__ import annotations

from coilbench.board.link.answers import whole
from coilbench.board.link.frames import Frame
from coilbench.motion.turns import TurnCount, steps_per_turn

WANTED_PASSES = 3
# A rotor swings about each slow step: with the flag's rim right at the sensor it makes edges to and fro, all within
# so many full steps.
CHATTER_STEPS = 3.0


class EdgeNotes:
    """Where the flag came into the sensor, in full steps, by the edges that the board tells of.

    ``level`` is the sensor's before the first of them: 0 with the flag in it. Of edges that follow each other quickly
    the board tells the latest only, so a flag that comes in is known by the sensor having been free till then.
    """

    def __init__(self, pulses: int, level: int) -> None:
        self._pulses = pulses
        self._level = level
        self._last: float | None = None
        self._passes: list[float] = []

    def watch(self, frame: Frame) -> None:
        """Note an edge event; anything else is passed over."""
        if frame.word != "edge":
            return
        at = whole(frame.fields, "pos") / self._pulses
        chatter = self._last is not None and abs(at - self._last) <= CHATTER_STEPS
        if self._level == 1 and not chatter:
            self._passes.append(at)
        self._last, self._level = at, whole(frame.fields, "level")

    @property
    def passes(self) -> int:
        """How often the flag came into the sensor."""
        return len(self._passes)

    def counted(self) -> TurnCount:
        """Steps of a turn. Raises NotEnoughKnown for too few passes, or uneven ones."""
        return steps_per_turn(self._passes)
