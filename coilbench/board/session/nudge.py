"""A helper board that nudges a shaft by its coil lines: one switched on for a moment, then another."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.board.client.client import Helper
from coilbench.board.link.faults import Refused
from coilbench.board.link.messages import COIL_ON_BACK
from coilbench.board.session.session import BoardSession, Progress

LEAD_IN_S = 0.25
HOLD_S = 0.6  # the rotor finds the first line's place and stops swinging
NUDGE_S = 1.0  # long enough to see where it went
_GRACE_S = 0.2  # a pattern outlasts its wait, so that the next one follows without a gap
_WHOLE_S = 2 * LEAD_IN_S + HOLD_S + NUDGE_S + _GRACE_S


@dataclass(frozen=True)
class Nudge:
    """A nudge was made, or stopped; ``turned_steps`` is what a virtual shaft did from the first line to the next."""

    complete: bool
    turned_steps: float | None


class NudgeSession(BoardSession):
    """A board that drives by coils, one line at a time."""

    def _set_up(self, helper: Helper) -> None:
        helper.drive_by_coils("wave")

    def nudge(self, first: int, then: int, progress: Progress) -> Nudge:
        """Line ``first`` (0 to 3) on until the rotor stands, then line ``then`` alone. Raises LinkFault, Refused."""
        with self._busy:
            helper = self._connected()
            for more_s in (_WHOLE_S, COIL_ON_BACK * _WHOLE_S):
                try:
                    return self._nudge(helper, first, then, progress)
                except Refused as refusal:
                    self._cool(helper, refusal, more_s, progress)  # so long that all of the nudge fits in
            return self._nudge(helper, first, then, progress)

    def _nudge(self, helper: Helper, first: int, then: int, progress: Progress) -> Nudge:
        progress("holding", 0.0)
        # A rotor half a cycle from the first line's place would stay there, pulled to no side. One of the lines
        # beside it is no partner of its phase: together with that one it leads the rotor in.
        for beside in ((first + 1) % 4, (first - 1) % 4):
            self._switch(helper, 1 << first | 1 << beside, LEAD_IN_S + _GRACE_S)
            self._pause(helper, LEAD_IN_S)
        self._switch(helper, 1 << first, HOLD_S + _GRACE_S)
        self._pause(helper, HOLD_S)
        before = self.shaft_steps()
        progress("nudging", 0.0)
        self._switch(helper, 1 << then, NUDGE_S)
        self._pause(helper, NUDGE_S - _GRACE_S)
        after = self.shaft_steps()
        self._pause(helper, _GRACE_S)
        turned = None if before is None or after is None else after - before
        return Nudge(not self._stopped, None if self._stopped else turned)

    def _switch(self, helper: Helper, pattern: int, on_s: float) -> None:
        if not self._stopped:
            helper.coil_pattern(pattern, on_s)
