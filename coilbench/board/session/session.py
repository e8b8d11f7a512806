"""One open helper board, used off the screen's thread.

Verbs that talk to the board block for as long as it takes and are called in a thread worker; ``ready``, ``stop`` and
``close`` may be called from any thread, at any time.
"""

from __future__ import annotations

import contextlib
import threading
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from coilbench.board.client.client import Helper
from coilbench.board.link.answers import whole
from coilbench.board.link.faults import LinkFault, Refused
from coilbench.board.link.link import BeginLog
from coilbench.board.link.messages import COIL_ON_BACK, COIL_ON_MS
from coilbench.board.link.replug import PortMark

_LONGEST_REST_MS = COIL_ON_MS * COIL_ON_BACK  # what asks for more is out of its mind

Pins = dict[str, dict[str, Any]]
Progress = Callable[[str, float], None]
OpenHelper = Callable[[str, BeginLog | None, PortMark | None], Helper]


@dataclass(frozen=True)
class BoardFound:
    """A greeted board: what it calls itself, its pins, its fastest rate in full steps/s."""

    chip: str
    sketch: str
    pins: Pins
    highest_sps: float


class BoardSession(ABC):
    """A board on ``url``; what is said goes into the log that ``log`` begins. ``pulses`` make a full step."""

    def __init__(
        self, url: str, log: BeginLog | None = None, pulses: int = 1, *, opener: OpenHelper = Helper.open
    ) -> None:
        self.url = url
        self._opener = opener
        self._log = log
        self._pulses = pulses
        self._helper: Helper | None = None
        self._busy = threading.Lock()
        self._closed = False
        self._stopped = False

    @abstractmethod
    def _set_up(self, helper: Helper) -> None:
        """Tell the board how it is to drive; its outputs are off."""

    def open(self) -> BoardFound:
        """Open the port, greet the board, read its pins; again after it was unplugged. Raises LinkFault, Refused."""
        with self._busy:
            was = None
            if self._helper is not None:  # the one before was unplugged
                self._helper.close()
                was = self._helper.link.mark
            helper = self._helper = self._opener(self.url, self._log, was)
            if self._closed:  # the stage was left while the board started
                helper.close()
                raise LinkFault("the board was closed again")
            helper.stop()
            self._set_up(helper)
            identity, highest_sps = helper.identity, helper.rates.highest_sps / self._pulses
            return BoardFound(identity.chip, identity.sketch_version, helper.pin_map(), highest_sps)

    def look(self) -> None:
        """Ask the board for a sign of life; passes while something is under way. Raises LinkFault."""
        if self._helper is not None and self._busy.acquire(blocking=False):
            try:
                self._helper.state()
            finally:
                self._busy.release()

    def ready(self) -> None:
        """Something is about to be asked for: from here on a stop counts for it."""
        self._stopped = False

    def stop(self) -> None:
        """Stop the motor now, outputs off; never raises."""
        self._stopped = True
        if self._helper is not None:
            with contextlib.suppress(LinkFault):
                self._helper.request_stop()

    def close(self) -> None:
        """Stop the motor and let the port go; never raises."""
        self._closed = True
        self.stop()
        if self._helper is not None:
            self._helper.close()

    def _connected(self) -> Helper:
        if self._helper is None or self._closed:
            raise LinkFault("no board is connected", title="No board", remedy="connect the board first")
        return self._helper

    def _cool(self, helper: Helper, refusal: Refused, more_s: float, progress: Progress) -> None:
        """Outputs off while the coils are to rest, and ``more_s`` longer. Raises any other refusal again."""
        if refusal.word != "duty":
            raise refusal
        progress("cooling", 0.0)
        helper.switch_outputs(False)
        wait_ms = whole({"wait": 0, **refusal.fields}, "wait")
        if not 0 <= wait_ms <= _LONGEST_REST_MS:
            raise refusal
        self._pause(helper, wait_ms / 1000 + more_s)

    def _pause(self, helper: Helper, wait_s: float) -> None:
        """Let time pass while the board is heard; a stop ends it."""
        until_s = helper.link.now() + wait_s
        while (left_s := until_s - helper.link.now()) > 0 and not self._closed and not self._stopped:
            helper.link.receive(min(left_s, 0.1))

    def _motor(self) -> Any:
        """The motor of a virtual board, else None."""
        port = self._helper.link.port if self._helper is not None else None
        board = getattr(port, "board", None) if port is not None and port.is_open else None
        return None if board is None else board.motion.motor

    def shaft_steps(self) -> float | None:
        """How far a virtual shaft stands from where it began, full steps; None on a real board."""
        motor = self._motor()
        return None if motor is None else float(motor.full_steps_turned)
