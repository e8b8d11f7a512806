"""How long coil lines may stand with current on before they must rest."""

from __future__ import annotations

from coilbench.board.link.messages import COIL_BUDGET_MS

_MOST_S = COIL_BUDGET_MS / 1000


class CoilBudget:
    """Seconds of standing that are used up; given back at the same rate while nothing stands."""

    def __init__(self, now_s: float) -> None:
        self._spent_s = 0.0
        self._at_s = now_s

    def account(self, now_s: float, standing_until_s: float) -> None:
        """Time has passed to ``now_s``, with a pattern standing up to ``standing_until_s`` (the past for none)."""
        began_s, self._at_s = self._at_s, now_s
        standing_s = max(min(standing_until_s, now_s) - began_s, 0.0)
        used_s = min(self._spent_s + standing_s, _MOST_S)
        self._spent_s = max(used_s - (now_s - began_s - standing_s), 0.0)

    def wait_s(self, duration_s: float) -> float:
        """How long a rest is needed, as of the last account, before this much fits in."""
        return max(self._spent_s + duration_s - _MOST_S, 0.0)

    @property
    def used_up_s(self) -> float:
        """When a pattern that stands from the last account on will have used all up."""
        return self._at_s + _MOST_S - self._spent_s

    @property
    def empty(self) -> bool:
        """All is used up."""
        return self._spent_s >= _MOST_S
