"""Phase order by a helper board: it nudges the coils, the person answers as in the tests by hand."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual import on
from textual.widgets import Static

from coilbench.errors import CoilbenchError
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.panes.jog import setup as jog_setup
from coilbench.ui.panes.jog.board import BoardPane

if TYPE_CHECKING:
    from coilbench.board.session.nudge import NudgeSession
    from coilbench.winding.order.by_board import LineWiring
    from coilbench.winding.order.types import NextTest, OrderQuestion, OrderVerdict

    Base = BoardPane[NudgeSession]
else:  # the session brings the serial line along, which is loaded when it is used
    Base = BoardPane

OFFER, BACK = "by a helper board (b)", "by hand again (b)"
WAITING = "waiting for the board; some take three seconds to start"


class NudgePane(Base):
    """The part of the order stage that has a board: offered while there is a test that a board can make."""

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
    def bench(self) -> Bench:
        return bench_of(self.app)

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
            self._start(jog_setup.real_ports)

    def leave_board(self) -> None:
        """The board is let go; the tests by hand are shown."""
        self._close_session()
        self.by_board, self.nudged, self.turned_steps, self.says = False, False, None, ""

    def _offered(self, found: list[jog_setup.PortChoice]) -> None:
        if self.bench.demo:
            found = [jog_setup.PortChoice(self._virtual_url(), "virtual board and motor"), *found]
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
        self._start(self.session.open)
        self.show()

    def _virtual_url(self) -> str:
        """The demo's board, its lines wired to this motor as the screen says."""
        url = jog_setup.virtual_port(self.bin.facts(self.motor_name)).url
        virtual, lines = self.bench.virtual, self.lines
        if virtual is None or lines is None or not virtual.has(self.motor_name):
            return url
        places = virtual.motor(self.motor_name).windings.places
        return f"{url}lines={''.join(str(places[end]) for end in lines.ends)}{self.virtual_options}"

    virtual_options = ""  # more of the virtual port's URL

    # Nudges

    def action_order_nudge(self) -> None:
        """The board makes the asked test."""
        session, lines, test = self.session, self.lines, self.test
        if self.busy or session is None or self.board is None or lines is None or test is None:
            return
        first, then = lines.line(test.reference), lines.line(test.touched)
        self.nudging, self.nudged, self.turned_steps, self.says, self.was_covered = True, False, None, "", False
        progress = self._progress()
        session.ready()
        self._start(lambda: session.nudge(first, then, progress))
        self.show()

    def action_order_stop(self) -> None:
        """All coils off."""
        self._stop()

    @on(BoardPane.Way)
    def way(self, event: BoardPane.Way) -> None:
        event.stop()
        test = self.test
        if event.token == self._token and self.nudging and test is not None:
            words = {"holding": f"holds {test.reference} ...", "nudging": f"... now {test.touched}: which way?"}
            self.says = words.get(event.state, "a rest: the coils have been on long")
            said = self.query_one("#order-says", Static)
            said.update(self.says)
            said.display = True

    @on(BoardPane.Did)
    def did(self, event: BoardPane.Did) -> None:
        event.stop()
        if event.token != self._token or (event.problem is None and event.result is None):
            return
        from coilbench.board.session.nudge import Nudge
        from coilbench.board.session.session import BoardFound

        self.busy = self.nudging = False
        result = event.result
        try:
            if event.problem is not None:
                raise event.problem
            if isinstance(result, list):
                self._offered(result)
            elif isinstance(result, BoardFound):
                self.board, self.by_board, self.says = result, True, "wire it, then supply on"
            elif isinstance(result, Nudge):
                self.turned_steps, self.nudged = result.turned_steps, result.complete
                self.says = "which way did it go?" if result.complete else "stopped: nudge again"
                if self.was_covered and not result.complete:
                    self.says = "stopped, a page covered STOP: nudge again"
        except CoilbenchError as problem:
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
        from coilbench.stages.motor import half_winding_ohm

        ratings = self.bin.fact(self.motor_name, "ratings") or {}
        ohm = ratings.get("resistance_ohm") or half_winding_ohm(self.desk.known)
        ampere = ratings.get("current_ampere")
        return [
            "supply off while you wire; motor off every other driver",
            *coil_cautions("array", ampere, ohm)[:3],
            "short nudges only: coils get hot; fingers off the shaft",
        ]
