"""How long coil lines may be on before they must rest."""

from __future__ import annotations

from coilbench.board.link.messages import COIL_ON_BACK, COIL_ON_MS, COIL_POWER_UP_MS, COIL_STAND_MS

_STAND_S, _ON_S = COIL_STAND_MS / 1000, COIL_ON_MS / 1000
_NOTHING_S = 1e-6  # what rounding may leave of a budget that is used up; waiting for it would never end


class CoilBudget:
    """Seconds that are left of standing, and of being on at all; given back only while all lines are off."""

    def __init__(self, now_s: float) -> None:
        self.stand_left_s = _STAND_S
        self.on_left_s = COIL_POWER_UP_MS / 1000
        self._at_s = now_s

    def account(self, now_s: float, *, on: bool, standing_until_s: float) -> None:
        """Time has passed to ``now_s``; ``on`` any line, a pattern standing up to ``standing_until_s``."""
        began_s, self._at_s = self._at_s, now_s
        passed_s = now_s - began_s
        if on:
            standing_s = max(min(standing_until_s, now_s) - began_s, 0.0)
            self.stand_left_s = max(self.stand_left_s - standing_s, 0.0)
            self.on_left_s = max(self.on_left_s - passed_s, 0.0)
        else:
            self.stand_left_s = min(self.stand_left_s + passed_s, _STAND_S)
            self.on_left_s = min(self.on_left_s + passed_s / COIL_ON_BACK, _ON_S)

    def wait_s(self, standing_s: float, on_s: float) -> float:
        """How long all lines must be off, as of the last account, before this much fits in."""
        return max(standing_s - self.stand_left_s, (on_s - self.on_left_s) * COIL_ON_BACK, 0.0)

    def used_up_s(self, standing_until_s: float) -> float:
        """When lines that are on from the last account, and stand until then, will have used up either."""
        stood_up_s = self._at_s + self.stand_left_s
        on_s = self._at_s + self.on_left_s
        return min(on_s, stood_up_s) if stood_up_s <= standing_until_s else on_s

    @property
    def empty(self) -> bool:
        """Either is used up."""
        return self.stand_left_s <= _NOTHING_S or self.on_left_s <= _NOTHING_S
