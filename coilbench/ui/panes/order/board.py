"""The order pane's way to a helper board: a port is found and opened, nudges run in a thread, STOP is in reach."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from textual import on

from coilbench.board.link.ports import with_options
from coilbench.errors import CoilbenchError
from coilbench.stages.order import WAITING, OrderStage
from coilbench.stages.virtual_port import virtual_port
from coilbench.ui.panes.jog import setup as jog_setup
from coilbench.ui.panes.jog.board import BoardPane

if TYPE_CHECKING:
    from coilbench.board.session.nudge import NudgeSession

    Base = BoardPane[NudgeSession]
else:  # the session brings the serial line along, which is loaded when it is used
    Base = BoardPane


class NudgePane(Base):
    """Hands the stage's jobs to a thread, and what comes of them to the stage."""

    stage: OrderStage
    EARLY_KEYS = frozenset("1234mg")  # the answers, and the key that began the nudge
    says = ""  # while there is no board yet
    virtual_options = ""  # more of the virtual port's URL

    def __init__(self, stage: OrderStage) -> None:
        super().__init__(stage.desk.motor, stage.desk.bin)
        self.stage = stage

    @property
    def moves_now(self) -> bool:
        return self.stage.board is not None and self.stage.board.nudging

    def show_state(self) -> None:
        """Show the present state."""
        raise NotImplementedError

    def on_unmount(self) -> None:
        """Leaving the stage or closing the bench switches the coils off and lets the port go."""
        self.screen.remove_class("-jogging")
        self.let_board_go()

    def let_board_go(self) -> None:
        """Back to the tests by hand."""
        self.says = ""
        self.stage.leave_board()
        self.session, self.board = None, None

    def action_order_board(self) -> None:
        """To the board, or back to the tests by hand."""
        if self.busy:
            return
        if self.stage.board is not None:
            self.let_board_go()
            self.show_state()
        elif self.stage.lines is not None:
            self._start(jog_setup.real_ports)

    def action_order_nudge(self) -> None:
        """The board makes the asked test."""
        if self.busy or self.stage.board is None or self.stage.lines is None:
            return
        self.was_covered = False
        job, progress = self.stage.nudge(), self._progress()
        self._start(lambda: job(progress))
        self.show_state()

    def action_order_stop(self) -> None:
        """All coils off."""
        self._stop()

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
        from coilbench.records.paths import board_log_path

        job = self.stage.connect(url, None if self.bench.demo else partial(kept_log, board_log_path()))
        self.session, self.says = self.stage.session, WAITING
        self._start(job)
        self.show_state()

    def _virtual_url(self) -> str:
        """The demo's board, its lines wired to this motor as the screen says."""
        url = virtual_port(self.desk.known, self.virtual_options).url
        virtual, lines = self.bench.virtual, self.stage.lines
        if virtual is None or lines is None or not virtual.has(self.desk.motor):
            return url
        places = virtual.motor(self.desk.motor).windings.places
        return with_options(url, {"lines": "".join(str(places[end]) for end in lines.ends)})

    @on(BoardPane.Way)
    def way(self, event: BoardPane.Way) -> None:
        event.stop()
        if event.token == self._token and self.moves_now:
            self.stage.told(event.state)
            self.show_says()

    def show_says(self) -> None:
        """Show what the board does now."""
        raise NotImplementedError

    @on(BoardPane.Did)
    def did(self, event: BoardPane.Did) -> None:
        event.stop()
        if event.token != self._token or (event.problem is None and event.result is None):
            return
        from coilbench.board.session.nudge import Nudge
        from coilbench.board.session.session import BoardFound

        self.busy = False
        result = event.result
        try:
            if event.problem is not None:
                raise event.problem
            if isinstance(result, list):
                self._offered(result)
            elif isinstance(result, BoardFound):
                self.says = ""
                self.board = result
                self.stage.greeted(result)
            elif isinstance(result, Nudge):
                self.stage.nudge_ended(result, covered=self.was_covered)
        except CoilbenchError as problem:
            self.let_board_go()
            self.bench.show_problem(problem)
        self.show_state()
