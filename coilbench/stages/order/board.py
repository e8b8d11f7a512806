"""The helper board's part: it makes the asked test by its coil lines, and a person says which way the shaft went.

What it does is a job that is handed out, for a thread or to be called at once; what comes of it is handed in again.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.board.link.ports import VIRTUAL
from coilbench.errors import InputProblem
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.motor import half_winding_ohm

if TYPE_CHECKING:
    from coilbench.board.link.link import BeginLog
    from coilbench.board.session.nudge import Nudge, NudgeSession
    from coilbench.board.session.session import BoardFound, Pins, Progress
    from coilbench.winding.order.by_board import LineWiring
    from coilbench.winding.order.types import Answer, NextTest, OrderQuestion, OrderVerdict


SEEN_TO = (
    "every lead is on its line as drawn, the supply on now",
    "the motor is held, fingers off the shaft: it twitches",
    "you are ready to stop it: space, Esc or the stop button",
)


@dataclass(slots=True)
class HelperBoard:
    """A board, and how far the nudge of the asked ``test`` is.

    ``lines`` is which lead goes on which line, where a board can make the test; ``pins`` are known once one has
    answered; ``turned_steps`` is what a virtual shaft did.
    """

    test: NextTest | None = None
    lines: LineWiring | None = None
    session: NudgeSession | None = None
    pins: Pins | None = None
    says: str = ""
    nudging: bool = False
    nudged: bool = False  # to its end: there is something to answer
    turned_steps: float | None = None
    seen_to: bool = False  # what is to be seen to before the first nudge of this board

    @property
    def connected(self) -> bool:
        """Whether a board has answered: from there on it makes the tests."""
        return self.pins is not None

    def take_up(self, question: OrderQuestion | None, verdict: OrderVerdict | None) -> None:
        """Take up what is asked now; where no board can make it, the board is let go."""
        from coilbench.winding.order.by_board import line_wiring

        self.test = None if verdict is None else verdict.next
        twitch = self.test is not None and self.test.kind == "twitch"
        self.lines = line_wiring(question, verdict) if question and verdict and twitch else None
        if self.lines is None:
            self.leave()

    def connect(self, url: str, log: BeginLog | None = None) -> Callable[[], BoardFound]:
        """The job that opens a board; what it finds is for ``greeted``."""
        from coilbench.board.session.nudge import NudgeSession

        self.leave()
        self.session = NudgeSession(url, log)
        self.says = "waiting for the board; some take three seconds to start"
        return self.session.open

    def greeted(self, found: BoardFound) -> None:
        """The board has answered."""
        self.pins, self.seen_to = found.pins, False
        self._stands("wire it, then supply on")

    def leave(self) -> None:
        """Let the board go: the tests are made by hand."""
        if self.session is not None:
            self.session.close()
        self.session, self.pins = None, None
        self._stands("")

    @property
    def to_see_to(self) -> tuple[str, ...]:
        """What is to be confirmed before the first nudge of this board; nothing of a virtual one."""
        return () if self.seen_to or self.session is None or self.session.url.startswith(VIRTUAL) else SEEN_TO

    def nudge(self) -> Callable[[Progress], Nudge]:
        """The job by which the board makes the asked test; what comes of it is for ``nudge_ended``.

        Raises InputProblem where it can't be made now.
        """
        session, lines, test = self.session, self.lines, self.test
        if not self.connected or session is None or lines is None or test is None or self.nudging:
            raise InputProblem("no board to make a test, or none that a board can make")
        first, then = lines.line(test.reference), lines.line(test.touched)
        self._stands("", nudging=True)
        session.ready()
        return lambda progress: session.nudge(first, then, progress)

    def told(self, state: str) -> None:
        """The board says how far the nudge is."""
        if (test := self.test) is not None and self.nudging:
            words = {"holding": f"holds {test.reference} ...", "nudging": f"... now {test.touched}: which way?"}
            self.says = words.get(state, "a rest: the coils have been on long")

    def nudge_ended(self, nudge: Nudge, *, covered: bool = False) -> None:
        """The nudge is made, or was stopped; ``covered``: because a page came over the button for that."""
        if self.connected:
            stopped = "stopped, a page covered STOP: nudge again" if covered else "stopped: nudge again"
            says = "which way did it go?" if nudge.complete else stopped
            self._stands(says, nudged=nudge.complete, steps=nudge.turned_steps)

    def turned_answer(self) -> Answer | None:
        """What a virtual shaft answers to the last nudge; None where none turned."""
        from coilbench.winding.order.by_board import answer_of

        return None if self.turned_steps is None else answer_of(self.turned_steps)

    def await_nudge(self) -> None:
        """What was nudged is answered, or taken back: nothing is nudged yet."""
        if self.connected:
            self._stands("")

    def _stands(self, says: str, nudging: bool = False, nudged: bool = False, steps: float | None = None) -> None:
        self.says, self.nudging, self.nudged, self.turned_steps = says, nudging, nudged, steps

    def wiring(self, *, ascii: bool = False) -> tuple[str, ...]:
        """What to wire where."""
        from coilbench.board.session.wiring import coil_wiring
        from coilbench.rating.coil_lines import CoilLines

        lines = self.lines
        if self.pins is None or lines is None:
            return ()
        laid = CoilLines(lines.ends, lines.supply, tuple(f"join {pair}" for pair in lines.joins))
        return tuple(coil_wiring(self.pins, "array", laid, ascii=ascii, sensor=False))


def board_cautions(known: Facts) -> tuple[str, ...]:
    """What to mind when a board nudges."""
    from coilbench.rating.coil_lines import coil_cautions

    ratings = known.get(Ratings) or Ratings()
    ohm = ratings.resistance_ohm or half_winding_ohm(known)
    return (
        "supply off while you wire; short nudges only",
        "motor off every other driver",
        *coil_cautions("array", ratings.current_ampere, ohm)[:3],
        "coils get hot; fingers off the shaft",
    )
