"""The helper board that watches a trimmer: its port, its readings, and the hand at a virtual one."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from coilbench.board.link.ports import VIRTUAL
from coilbench.records.saved.own import OwnBoard
from coilbench.stages.desk import Desk

if TYPE_CHECKING:
    from coilbench.board.link.link import BeginLog
    from coilbench.board.session.voltmeter import PinVolt, TrimmerSession
    from coilbench.stages.driver.trimmer import LiveTrimmer, Needle

_TURN = 0.04  # of the target, at each reading: a careful hand
DEMO_BANDGAP_VOLT = "1.06"  # its chip has one of its own, so that a meter has something to tell

KEPT = "set by your meter, and kept on the board"
NOT_KEPT = (
    "set by your meter until this ends: the sketch on this board is an older one and can't keep it; "
    "`coilbench board flash` puts this bench's on it"
)

OpenSession = Callable[..., "TrimmerSession"]


def usual_port(desk: Desk) -> str:
    """The port of the usual board of the bench; empty for none."""
    own = desk.own.usual(OwnBoard)
    return "" if own is None else own.port


def _session(url: str, pin: str, log: BeginLog | None) -> TrimmerSession:
    from coilbench.board.session.voltmeter import TrimmerSession

    return TrimmerSession(url, pin, log)


class TrimmerBoard:
    """The board on ``url``, its analogue input ``pin`` joined to the trimmer; for one thread, but for ``close``."""

    def __init__(
        self, url: str, pin: str = "A0", log: BeginLog | None = None, *, session: OpenSession = _session
    ) -> None:
        self.url, self.pin = url, pin.strip().upper()
        self._session = session(url, pin, log)

    @property
    def own(self) -> OwnBoard:
        """It as a thing of the bench."""
        return OwnBoard(name="", port=self.url)

    def open(self, trimmer: LiveTrimmer) -> None:
        """Open it, and see that the target lies within what it stands. Raises LinkFault, Refused, InputProblem."""
        self._session.open()
        self._session.turn_virtual(lambda volt: volt)
        trimmer.calibrated = self.bandgap_volt is not None
        trimmer.check_supply(self._session.read().supply_volt)

    def read(self) -> PinVolt:
        """The next reading, ten a second. Raises LinkFault, Refused."""
        return self._session.read()

    @property
    def bandgap_volt(self) -> float | None:
        """Its reference by what a meter told; None where none has."""
        return self._session.bandgap_volt

    def rescale(self, trimmer: LiveTrimmer, meter_text: str) -> str:
        """Have the board go by what the person's meter shows; what there is to say of it.

        Raises LinkFault and Refused; InputProblem for a text or voltage that tells nothing.
        """
        kept = self._session.rescale(trimmer.calibrate(meter_text))
        trimmer.told_by_meter()
        return KEPT if kept else NOT_KEPT

    def now(self) -> float:
        """The board's clock, seconds."""
        return self._session.now()

    @property
    def is_virtual(self) -> bool:
        """Its trimmer is turned by keys, or by itself."""
        return self.url.startswith(VIRTUAL)

    def turn_virtual(self, needle: Needle, trimmer: LiveTrimmer) -> None:
        """A virtual trimmer is turned as the needle says, and back after a slip."""
        if needle.turn != "hold":
            way = 1.0 if needle.volt < trimmer.target_volt else -1.0
            self.turn_by(way * _TURN * trimmer.target_volt)

    def turn_by(self, volt: float) -> None:
        """A virtual trimmer is turned by so much; nothing happens at a real one."""
        self._session.turn_virtual(lambda before: before + volt)

    def slip(self) -> None:
        """The blade of a virtual trimmer slips, to its low end."""
        self._session.turn_virtual(lambda before: 0.0)

    def close(self) -> None:
        """Let it go; never raises."""
        self._session.close()
