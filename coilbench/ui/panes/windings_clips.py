"""Leads measured by a helper board on its clips: find the board, say what goes where, measure, take it."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

from coilbench.board.link.ports import PortChoice, with_options
from coilbench.errors import CoilbenchError
from coilbench.records.saved.own import OwnBoard
from coilbench.stages.virtual_port import virtual_port
from coilbench.stages.windings.clips import CAUTION, ClipInTheAir, Measured
from coilbench.stages.windings.stage import WindingsStage
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.panes.base import StagePane


class ClipsPane(StagePane[WindingsStage]):
    """The part of the windings' pane that has a board do the measuring."""

    def action_windings_clips(self) -> None:
        """Look for a board; what follows is a dialog each."""
        if not self.waiting:
            self.bench.tell("looking for a helper board ...")
            self.work_out(self.bench.ports)

    def on_unmount(self) -> None:
        """Leaving the stage or closing the bench lets the pair go, and the port."""
        self.stage.clips.leave()

    def taken(self) -> None:
        """Readings were taken: judge them."""
        raise NotImplementedError

    def has_gone_on(self, result: Any) -> bool:
        """Whether what was worked out is of the board's, and the next step is taken."""
        from coilbench.board.session.session import BoardFound

        if isinstance(result, list):
            self._offered(result)
        elif isinstance(result, BoardFound):
            self._greeted()
        elif isinstance(result, Measured):
            self._measured(result)
        else:
            return False
        return True

    def show_not_worked_out(self, problem: CoilbenchError) -> None:
        self.stage.clips.leave()
        self.bench.show_problem(problem)

    def _offered(self, found: list[PortChoice]) -> None:
        own = self.desk.own.usual(OwnBoard)
        if self.bench.demo:
            self._open(self._virtual_port().url)
        elif own is not None:
            self._open(own.port)
        elif len(found) == 1 and found[0].usb:
            self._open(found[0].url)
        else:
            from coilbench.ui.dialogs.pick_port import PickPortDialog

            self.app.push_screen(PickPortDialog(found), self._open)

    def _open(self, url: str | None) -> None:
        if url is None or not self.is_mounted:
            return
        from coilbench.board.link.conversation import kept_log
        from coilbench.records.paths import board_log_path

        log = None if self.bench.demo else partial(kept_log, board_log_path())
        self.bench.tell("waiting for the board; some take three seconds to start")
        self.work_out(self.stage.clips.connect(url, log))

    def _virtual_port(self) -> PortChoice:
        """The demo's board, the leads of this motor on its clips."""
        port, virtual, name = (
            virtual_port(self.desk.known, self.bench.virtual_options),
            self.bench.virtual,
            self.desk.motor,
        )
        if virtual is None or not virtual.has(name):
            return port
        motor = virtual.motor(name)
        order = "".join(str(motor.windings.leads.index(lead)) for lead in self.desk.leads)
        return replace(port, url=with_options(port.url, {"wound": motor.name, "clips": order}))

    def _greeted(self) -> None:
        self.stage.clips.greeted()
        lines = (*self.stage.clips.wiring(self.desk.leads), "", f"caution: {CAUTION}")
        dialog = ConfirmDialog("leads on clips", "\n".join(lines), "measure", "not now")
        self.app.push_screen(dialog, self._ready)

    def _ready(self, yes: bool | None) -> None:
        if yes and self.is_mounted:
            self.bench.tell("measuring ...")
            self.work_out(self.stage.clips.measure(self.desk.leads))
        else:
            self.stage.clips.leave()

    def _measured(self, measured: Measured, silent: tuple[str, ...] = ()) -> None:
        self.stage.clips.leave()
        if measured.found is None or not self.is_mounted:
            return
        try:
            untold = self.stage.take_clips(measured.found, silent)
        except ClipInTheAir as fault:
            text = f"{fault.happened}: {fault.remedy}, or say that nothing is wrong with that."
            dialog = ConfirmDialog(fault.title, text, "they sit well", "measure again later")
            self.app.push_screen(dialog, partial(self._confirmed, measured, fault.leads))
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
        else:
            self.bench.tell("; ".join(("measured on clips", *untold)))
            self.taken()

    def _confirmed(self, measured: Measured, silent: tuple[str, ...], yes: bool | None) -> None:
        if yes:
            self._measured(measured, silent)
