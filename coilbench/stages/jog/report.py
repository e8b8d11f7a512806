"""What a jog found, as one JSON object."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from coilbench.records.saved.decode import plain
from coilbench.records.saved.jog import Figures
from coilbench.stages.jog.figures import with_bands, with_search
from coilbench.stages.jog.saved import SCAN

if TYPE_CHECKING:
    from coilbench.stages.jog.stage import JogStage


def report(stage: JogStage, port: str) -> dict[str, Any]:
    """Full steps/s and steps/s2: the figures of the searches since the stage was opened, each search below."""
    setting, board, turn = stage.setting, stage.board, stage.turn_end
    assert setting is not None and board is not None
    figures, drive, swing = Figures(), setting.drive, None
    for kind, judged in stage.results.items():
        if judged.swing is not None:
            swing = judged.swing
        elif judged.summary is not None:
            figures = with_search(figures, judged.summary, setting.acceleration_sps2)
        elif kind == SCAN:
            figures = with_bands(figures, judged.bands)
    found = {
        name: value
        for name, value in plain(figures).items()
        if name not in ("drive", "proved", "shaft", "found_with", "scanned", "swings")
    }
    how = {"form": drive.form} if drive.by_coils else {"microsteps": drive.microsteps}
    return {
        "port": port,
        "board": {"chip": board.chip, "sketch": board.sketch},
        "drive": {"kind": drive.kind, **how},
        "microsteps": drive.microsteps,
        "shaft": asdict(setting.shaft),
        "counted_steps_per_turn": round(turn.counted.steps_per_turn, 3) if turn and turn.counted else None,
        **found,
        "swing": None if swing is None else asdict(swing),
        "found_with": {"on_shaft": setting.found_with.on_shaft, **plain(setting.found_with)},
        "searches": {
            kind: judged.summary.as_dict()
            for kind, judged in stage.results.items()
            if kind != SCAN and judged.summary is not None
        },
    }
