"""Phase order by a helper board: it nudges the coils, the person answers as in the tests by hand."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from coilbench.board.link.ports import PortChoice, with_options
from coilbench.errors import CoilbenchError
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.virtual_port import virtual_port
from coilbench.ui.panes.board import BoardPane

if TYPE_CHECKING:
    from coilbench.board.session.nudge import NudgeSession


class NudgePane(BoardPane[OrderStage]):
    """Hands the stage's jobs to the worker, and what comes of them to the stage."""

    EARLY_KEYS = frozenset("1234mg")  # the answers, and the key that began the nudge
    stopped_by_page = False

    @property
    def session(self) -> NudgeSession | None:
        return self.stage.board.session

    @property
    def is_connected(self) -> bool:
        return self.stage.board.connected

    @property
    def moves_now(self) -> bool:
        return self.stage.board.nudging

    def was_covered(self) -> None:
        self.stopped_by_page = True

    def show_state(self) -> None:
        """Show the present state."""
        raise NotImplementedError

    def show_says(self) -> None:
        """Show what the board does now."""
        raise NotImplementedError

    def on_unmount(self) -> None:
        """Leaving the stage or closing the bench switches the coils off and lets the port go."""
        self.screen.remove_class("-jogging")
        self.let_board_go()

    def let_board_go(self) -> None:
        """Back to the tests by hand."""
        self.stage.board.leave()

    def action_order_board(self) -> None:
        """To the board, or back to the tests by hand."""
        if self.waiting:
            return
        if self.is_connected:
            self.let_board_go()
            self.show_state()
        elif self.stage.board.lines is not None:
            self.run_job(lambda progress: self.bench.ports())

    def action_order_nudge(self) -> None:
        """The board makes the asked test."""
        if self.waiting or not self.is_connected or self.stage.board.lines is None:
            return
        self.when_seen_to(self.stage.board.to_see_to, "nudge it", self._nudge)

    def _nudge(self) -> None:
        self.stopped_by_page = False
        self.run_job(self.stage.board.nudge())
        self.show_state()

    def was_seen_to(self) -> None:
        self.stage.board.seen_to = True

    def action_order_stop(self) -> None:
        """All coils off."""
        self.stop_motor()

    def _offered(self, found: list[PortChoice]) -> None:
        if self.bench.demo:
            found = [self._virtual_port(), *found]
        if self.bench.demo or (len(found) == 1 and found[0].usb):
            self._open(found[0].url)
        else:
            from coilbench.ui.dialogs.pick_port import PickPortDialog

            self.app.push_screen(PickPortDialog(found), self._open)

    def _open(self, url: str | None) -> None:
        if url is None:
            return
        from coilbench.board.link.conversation import kept_log
        from coilbench.records.paths import board_log_path

        job = self.stage.board.connect(url, None if self.bench.demo else partial(kept_log, board_log_path()))
        self.run_job(lambda progress: job())
        self.show_state()

    def _virtual_port(self) -> PortChoice:
        """The demo's board, its lines wired to this motor as the screen says."""
        port = virtual_port(self.desk.known, self.bench.virtual_options)
        virtual, lines = self.bench.virtual, self.stage.board.lines
        if virtual is None or lines is None or not virtual.has(self.desk.motor):
            return port
        places = virtual.motor(self.desk.motor).windings.places
        wired = "".join(str(places[end]) for end in lines.ends)
        return replace(port, url=with_options(port.url, {"lines": wired}))

    def show_way(self, state: str) -> None:
        self.stage.board.told(state)
        self.show_says()

    def show_worked_out(self, result: Any) -> None:
        from coilbench.board.session.nudge import Nudge
        from coilbench.board.session.session import BoardFound

        if isinstance(result, list):
            self._offered(result)
        elif isinstance(result, BoardFound):
            self.stage.board.greeted(result)
        elif isinstance(result, Nudge):
            self.stage.board.nudge_ended(result, covered=self.stopped_by_page)
        self.show_state()

    def show_not_worked_out(self, problem: CoilbenchError) -> None:
        self.let_board_go()
        self.bench.show_problem(problem)
        self.show_state()
