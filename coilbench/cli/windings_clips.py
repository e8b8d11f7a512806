"""Leads measured by a helper board on its clips, for ``coilbench windings --clips``."""

from __future__ import annotations

from collections.abc import Collection

from coilbench.cli.output import note
from coilbench.errors import InputProblem
from coilbench.records.saved.own import OwnBoard
from coilbench.stages.windings.clips import CAUTION, ClipInTheAir
from coilbench.stages.windings.stage import WindingsStage


def measure_on_clips(stage: WindingsStage, port: str | None, silent: Collection[str], *, as_json: bool) -> None:
    """Have the board measure the stage's leads, the first on clip 1, and keep the readings.

    Raises InputProblem, ClipInTheAir and whatever the board finds on its clips.
    """
    if port is None:
        board = stage.desk.own.usual(OwnBoard)
        if board is None:
            remedy = "give --port, or tell yours once: `coilbench bench add board --port PORT`"
            raise InputProblem("no port, and no helper board is told at your bench", remedy=remedy)
        port = board.port
    note(f"caution: {CAUTION}")
    try:
        stage.clips.connect(port)()
        stage.clips.greeted()
        if not as_json:
            for line in stage.clips.wiring(stage.desk.leads):
                note(line)
        found = stage.clips.measure(stage.desk.leads)().found
    finally:
        stage.clips.leave()
    assert found is not None  # nobody stops it here
    try:
        untold = stage.take_clips(found, silent)
    except ClipInTheAir as fault:
        sit = "it sits" if len(fault.leads) == 1 else "they sit"
        remedy = f'{fault.remedy}; where {sit} well: --silent "{", ".join(fault.leads)}"'
        raise ClipInTheAir(fault.leads, remedy) from None
    for line in untold:
        note(line)
