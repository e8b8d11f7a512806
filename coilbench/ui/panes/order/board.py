"""Phase order by a helper board: it nudges the coils, the person answers as in the tests by hand."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

from textual import on
from textual.widgets import Static

from coilbench.board.link.ports import PortChoice, with_options
from coilbench.errors import CoilbenchError
from coilbench.stages.jog.session import Job
from coilbench.stages.stage import Stage
from coilbench.stages.virtual_port import virtual_port
from coilbench.ui.panes.board import BoardPane
from coilbench.ui.panes.old import JudgingPane

if TYPE_CHECKING:
    from coilbench.board.session.nudge import NudgeSession
    from coilbench.board.session.session import BoardFound
    from coilbench.winding.order.by_board import LineWiring
    from coilbench.winding.order.types import NextTest, OrderQuestion, OrderVerdict

OFFER, BACK = "by a helper board (b)", "by hand again (b)"
WAITING = "waiting for the board; some take three seconds to start"


class NudgePane(JudgingPane, BoardPane[Stage]):
    """The part of the order stage that has a board: offered while there is a test that a board can make."""

    session: NudgeSession | None = None
    board: BoardFound | None = None
    busy = False
    stopped_by_page = False
    question: OrderQuestion | None = None
    order: OrderVerdict | None = None
    EARLY_KEYS = frozenset("1234mg")  # the answers, and the key that began the nudge
    by_board = False  # the board's wiring and steps are shown
    nudging = False
    nudged = False  # to its end: there is something to answer
    says = ""
    turned_steps: float | None = None  # what a virtual shaft did at the last nudge

    @property
    def moves_now(self) -> bool:
        return self.nudging

    @property
    def is_connected(self) -> bool:
        return self.board is not None

    def was_covered(self) -> None:
        self.stopped_by_page = True

    def _start(self, job: Job) -> None:
        self.busy = True
        self.run_job(job)

    def _close_session(self) -> None:
        if self.session is not None:
            self.session.close()
        self.session, self.board = None, None

    @property
    def test(self) -> NextTest | None:
        """The test that is asked now."""
        return self.order.next if self.order is not None else None

    @property
    def lines(self) -> LineWiring | None:
        """Which lead goes on which line, where a board can make the test that is asked now."""
        from coilbench.winding.order.by_board import line_wiring

        if self.question is None or self.order is None or self.test is None or self.test.kind != "twitch":
            return None
        return line_wiring(self.question, self.order)

    def show(self) -> None:
        """Show the present state."""
        raise NotImplementedError

    def on_unmount(self) -> None:
        """Leaving the stage or closing the bench switches the coils off and lets the port go."""
        self.screen.remove_class("-jogging")
        self._close_session()

    # Coming and going of the board

    def action_order_board(self) -> None:
        """To the board, or back to the tests by hand."""
        if self.busy:
            return
        if self.by_board:
            self.leave_board()
            self.show()
        elif self.lines is not None:
            self._start(lambda progress: self.bench.ports())

    def leave_board(self) -> None:
        """The board is let go; the tests by hand are shown."""
        self._close_session()
        self.by_board, self.nudged, self.turned_steps, self.says = False, False, None, ""

    def _offered(self, found: list[PortChoice]) -> None:
        if self.bench.demo:
            found = [PortChoice(self._virtual_url(), "virtual board and motor"), *found]
        if self.bench.demo or (len(found) == 1 and found[0].usb):
            self._open(found[0].url)
        else:
            from coilbench.ui.dialogs.pick_port import PickPortDialog

            self.app.push_screen(PickPortDialog(found), self._open)

    def _open(self, url: str | None) -> None:
        if url is None:
            return
        from coilbench.board.link.conversation import kept_log
        from coilbench.board.session.nudge import NudgeSession
        from coilbench.records.paths import board_log_path

        self._close_session()
        self.session = NudgeSession(url, None if self.bench.demo else partial(kept_log, board_log_path()))
        self.says = WAITING
        session = self.session
        self._start(lambda progress: session.open())
        self.show()

    def _virtual_url(self) -> str:
        """The demo's board, its lines wired to this motor as the screen says."""
        url = virtual_port(self.desk.known, self.bench.virtual_options).url
        virtual, lines = self.bench.virtual, self.lines
        if virtual is None or lines is None or not virtual.has(self.motor_name):
            return url
        places = virtual.motor(self.motor_name).windings.places
        return with_options(url, {"lines": "".join(str(places[end]) for end in lines.ends)})

    # Nudges

    def action_order_nudge(self) -> None:
        """The board makes the asked test."""
        session, lines, test = self.session, self.lines, self.test
        if self.busy or session is None or self.board is None or lines is None or test is None:
            return
        first, then = lines.line(test.reference), lines.line(test.touched)
        self.nudging, self.nudged, self.turned_steps, self.says = True, False, None, ""
        self.stopped_by_page = False
        session.ready()
        self._start(lambda progress: session.nudge(first, then, progress))
        self.show()

    def action_order_stop(self) -> None:
        """All coils off."""
        self.stop_motor()

    @on(BoardPane.Way)
    def way(self, event: BoardPane.Way) -> None:
        event.stop()
        test = self.test
        if self.is_now(event) and test is not None:
            words = {"holding": f"holds {test.reference} ...", "nudging": f"... now {test.touched}: which way?"}
            self.says = words.get(event.state, "a rest: the coils have been on long")
            said = self.query_one("#order-says", Static)
            said.update(self.says)
            said.display = True

    def show_worked_out(self, result: Any) -> None:
        if not self.busy:
            super().show_worked_out(result)
            return
        from coilbench.board.session.nudge import Nudge
        from coilbench.board.session.session import BoardFound

        self.busy = self.nudging = False
        if isinstance(result, list):
            self._offered(result)
        elif isinstance(result, BoardFound):
            self.board, self.by_board, self.says = result, True, "wire it, then supply on"
        elif isinstance(result, Nudge):
            self.turned_steps, self.nudged = result.turned_steps, result.complete
            self.says = "which way did it go?" if result.complete else "stopped: nudge again"
            if self.stopped_by_page and not result.complete:
                self.says = "stopped, a page covered STOP: nudge again"
        self.show()

    def show_not_worked_out(self, problem: CoilbenchError) -> None:
        self.busy = self.nudging = False
        self.leave_board()
        self.bench.show_problem(problem)
        self.show()

    def board_wiring(self) -> list[str]:
        """What to wire where."""
        from coilbench.board.session.wiring import coil_wiring
        from coilbench.rating.coil_lines import CoilLines

        lines = self.lines
        if self.board is None or lines is None:
            return []
        laid = CoilLines(lines.ends, lines.supply, tuple(f"join {pair}" for pair in lines.joins))
        return coil_wiring(self.board.pins, "array", laid, ascii=self.bench.plain_characters, sensor=False)

    def board_cautions(self) -> list[str]:
        """What to mind when a board nudges."""
        from coilbench.rating.coil_lines import coil_cautions
        from coilbench.rating.rate import half_winding_ohm

        ratings = self.bin.fact(self.motor_name, "ratings") or {}
        ohm = ratings.get("resistance_ohm") or half_winding_ohm(self.bin.fact(self.motor_name, "windings"))
        ampere = ratings.get("current_ampere")
        return [
            "supply off while you wire; motor off every other driver",
            *coil_cautions("array", ampere, ohm)[:3],
            "short nudges only: coils get hot; fingers off the shaft",
        ]
