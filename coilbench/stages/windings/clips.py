"""The helper board's part in sorting leads: it measures them all on its clips, in a few seconds.

What it does is a job that is handed out, for a thread or to be called at once; what comes of it is for
``WindingsStage.take_clips``.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.errors import Fault
from coilbench.records.saved.order import HandTest
from coilbench.records.saved.windings import Inductance
from coilbench.winding.readings.reading import MOST_LEADS

if TYPE_CHECKING:
    from coilbench.board.link.link import BeginLog
    from coilbench.board.session.clips import ClipSession
    from coilbench.board.session.session import BoardFound, OpenHelper
    from coilbench.winding.engine.verdict import Verdict
    from coilbench.winding.order.types import OrderVerdict
    from coilbench.winding.readings.clips import ClipMap
    from coilbench.winding.readings.meter import Meter

CLIPS = "clips"  # kept with a reading in the place of a meter's accuracy
CAUTION = "nothing but this motor's leads on the clips: no driver, no supply, no ground; its shaft at rest"
RESTLESS = "hold the shaft still, see that every clip sits well, and measure again"


class ClipInTheAir(Fault):
    """Leads that conduct to no other: a clip that sits on nothing reads just so."""

    def __init__(self, leads: Sequence[str], remedy: str = "") -> None:
        self.leads = tuple(leads)
        one = len(self.leads) == 1
        super().__init__(
            f"{', '.join(self.leads)} {'conducts' if one else 'conduct'} to no other lead",
            title="A clip in the air?" if one else "Clips in the air?",
            remedy=remedy
            or f"see that {'its clip sits' if one else 'their clips sit'} on bare copper, measure again",
        )


def clips_meter() -> Meter:
    """The accuracy of a reading taken on clips."""
    from coilbench.winding.readings.clips import CLIPS as ACCURACY

    return ACCURACY


def inductances_of(found: ClipMap) -> tuple[list[Inductance], tuple[str, ...]]:
    """What a board told of inductances, as it is kept, and what it couldn't tell, in words."""
    from coilbench.winding.readings.inductance import Timed

    kept, untold = [], []
    for one in found.inductances:
        if isinstance(one, Timed):
            kept.append(Inductance(a=one.a, b=one.b, henry=one.henry, henry_sd=one.henry_sd))
        else:
            untold.append(f"inductance {one.a} – {one.b} not told: {one.why}")
    return kept, tuple(untold)


def kicks_of(found: ClipMap) -> list[HandTest]:
    """The kicks that a board saw, as tests of the phase order."""
    return [
        HandTest(kind="kick", reference=each.reference, touched=each.touched, answer=each.answer)
        for each in found.kicks
    ]


def order_told(seen: Sequence[HandTest], verdict: Verdict) -> OrderVerdict | None:
    """The phase order of a motor that is named but not yet kept, by a board's kicks; None where they tell none."""
    from coilbench.winding.order.judging import judge_order, order_question, takes_part
    from coilbench.winding.order.types import OrderTest

    question = order_question(verdict)
    if question is None or not seen:
        return None
    tests = [OrderTest(each.kind, each.reference, each.touched, each.answer) for each in seen]
    told = judge_order(question, [test for test in tests if takes_part(question, test)], "clips")
    return told if told.done else None


@dataclass(frozen=True, slots=True)
class Measured:
    """What a board's visit came to: ``found`` is None where it was stopped."""

    found: ClipMap | None


@dataclass(slots=True)
class ClipBoard:
    """A board with clips; ``pins`` are the clips' digital ones once it has answered."""

    session: ClipSession | None = None
    pins: tuple[int, ...] = ()

    def connect(
        self, url: str, log: BeginLog | None = None, opener: OpenHelper | None = None
    ) -> Callable[[], BoardFound]:
        """The job that opens a board; then ``greeted``. Raises LinkFault, Refused."""
        from coilbench.board.session.clips import ClipSession

        self.leave()
        self.session = ClipSession(url, log) if opener is None else ClipSession(url, log, opener=opener)
        return self.session.open

    def greeted(self) -> None:
        """The board has answered."""
        self.pins = () if self.session is None else self.session.clips

    def measure(self, leads: Sequence[str]) -> Callable[[], Measured]:
        """The job that measures these leads, the first on clip 1, and lets the board go.

        Raises ClipFault, InputProblem, LinkFault, Refused.
        """
        session = self.session
        assert session is not None and len(leads) <= MOST_LEADS
        session.ready()

        def measured() -> Measured:
            try:
                found = session.measure(leads, lambda state, pairs: None)
                return Measured(None if found is None else session.watch_rises(leads, found))
            finally:
                session.close()

        return measured

    def leave(self) -> None:
        """Let the board go; what it measures is dropped."""
        if self.session is not None:
            self.session.close()
        self.session, self.pins = None, ()

    def wiring(self, leads: Sequence[str]) -> tuple[str, ...]:
        """Which lead goes on which clip, and what a clip is joined to."""
        from coilbench.board.session.wiring import clip_wiring

        return tuple(clip_wiring(self.pins, leads))
