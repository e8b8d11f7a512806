"""A helper board that nudges a shaft by its coil lines: one switched on for a moment, then another.

Every verb here blocks and is called in a thread worker; ``stop`` and ``close`` may be called from any thread.
"""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from .client import Helper
from .faults import LinkFault, Refused
from .jog_session import BoardFound
from .link import BeginLog

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


class NudgeSession:
    """A board on ``url``, driving by coils."""

    def __init__(self, url: str, log: BeginLog | None = None) -> None:
        self.url = url
        self._log = log
        self._helper: Helper | None = None
        self._busy = threading.Lock()
        self._closed = False
        self._stopped = False

    def open(self) -> BoardFound:
        """Open the port, greet the board, read its pins. Raises LinkFault, Refused."""
        with self._busy:
            helper = self._helper = Helper.open(self.url, self._log)
            if self._closed:
                helper.close()
                raise LinkFault("the board was closed again")
            helper.stop()
            helper.drive_by_coils("wave")
            identity = helper.identity
            can_index = "index" in identity.can
            pins, highest = helper.pin_map(), float(helper.rates.highest_sps)
            return BoardFound(identity.chip, identity.sketch_version, pins, highest, can_index)

    def look(self) -> None:
        """Ask the board for a sign of life; passes while a nudge is under way. Raises LinkFault."""
        if self._helper is not None and self._busy.acquire(blocking=False):
            try:
                self._helper.state()
            finally:
                self._busy.release()

    def ready(self) -> None:
        """A nudge is about to be asked for: from here on a stop counts for it."""
        self._stopped = False

    def nudge(self, first: int, then: int, progress: Callable[[str, float], None]) -> Nudge:
        """Line ``first`` (0 to 3) on until the rotor stands, then line ``then`` alone. Raises LinkFault, Refused."""
        with self._busy:
            helper = self._helper
            if helper is None or self._closed:
                raise LinkFault("no board is connected", title="No board", remedy="connect the board first")
            try:
                return self._nudge(helper, first, then, progress)
            except Refused as refusal:
                if refusal.word != "duty":
                    raise
                wait_ms = refusal.fields.get("wait", 0)
            helper.switch_outputs(False)
            progress("cooling", 0.0)
            # So long that all of the nudge fits in.
            self._wait(helper, (wait_ms if isinstance(wait_ms, int) else 0) / 1000 + _WHOLE_S)
            return self._nudge(helper, first, then, progress)

    def _nudge(self, helper: Helper, first: int, then: int, progress: Callable[[str, float], None]) -> Nudge:
        progress("holding", 0.0)
        # A rotor half a cycle from the first line's place would stay there, pulled to no side. One of the lines
        # beside it is no partner of its phase: together with that one it leads the rotor in.
        for beside in ((first + 1) % 4, (first - 1) % 4):
            self._switch(helper, 1 << first | 1 << beside, LEAD_IN_S + _GRACE_S)
            self._wait(helper, LEAD_IN_S)
        self._switch(helper, 1 << first, HOLD_S + _GRACE_S)
        self._wait(helper, HOLD_S)
        before = self._turned(helper)
        progress("nudging", 0.0)
        self._switch(helper, 1 << then, NUDGE_S)
        self._wait(helper, NUDGE_S - _GRACE_S)
        after = self._turned(helper)
        self._wait(helper, _GRACE_S)
        turned = None if before is None or after is None else after - before
        return Nudge(not self._stopped, None if self._stopped else turned)

    def stop(self) -> None:
        """All lines off, now; never raises."""
        self._stopped = True
        if self._helper is not None:
            with contextlib.suppress(LinkFault):
                self._helper.request_stop()

    def close(self) -> None:
        """All lines off, and the port let go; never raises."""
        self._closed = True
        self.stop()
        if self._helper is not None:
            self._helper.close()

    def _switch(self, helper: Helper, pattern: int, on_s: float) -> None:
        if not self._stopped:
            helper.coil_pattern(pattern, on_s)

    def _wait(self, helper: Helper, wait_s: float) -> None:
        until_s = helper.link.now() + wait_s
        while (left_s := until_s - helper.link.now()) > 0 and not self._closed and not self._stopped:
            helper.link.receive(min(left_s, 0.1))

    @staticmethod
    def _turned(helper: Helper) -> float | None:
        board: Any = getattr(helper.link.port, "board", None)
        return None if board is None else float(board.motion.motor.full_steps_turned)
