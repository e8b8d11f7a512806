"""From the driver stage to its trimmer: which board watches it."""

from __future__ import annotations

from coilbench.board.link.ports import with_options
from coilbench.errors import CoilbenchError
from coilbench.stages.driver.answer import DriverAnswer
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.driver.trimmer_board import DEMO_BANDGAP_VOLT, usual_port
from coilbench.stages.virtual_port import virtual_port
from coilbench.ui.bench import bench_of
from coilbench.ui.panes.base import StagePane


def follow_trimmer(pane: StagePane[DriverStage], stage: DriverStage, answer: DriverAnswer) -> None:
    """Open the live page with the bench's usual board, the demo's, or one that is chosen."""
    bench = bench_of(pane.app)

    def follow(url: str | None) -> None:
        from coilbench.ui.dialogs.trimmer import TrimmerDialog

        if not url:
            return
        try:
            page = TrimmerDialog(stage, answer, url)
        except CoilbenchError as problem:
            bench.show_problem(problem)
            return
        bench.push_screen(page)

    if bench.demo:
        port = virtual_port(stage.desk.known, bench.virtual_options).url
        follow(with_options(port, {"bandgap": DEMO_BANDGAP_VOLT, **bench.virtual_memory}))
    elif port := usual_port(stage.desk):
        follow(port)
    else:
        from coilbench.ui.dialogs.pick_port import PickPortDialog

        bench.push_screen(PickPortDialog(bench.ports()), follow)
