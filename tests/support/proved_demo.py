"""The demo's bin after a day at the bench: each motor measured with the virtual meter and rated by its size."""

from __future__ import annotations

from pathlib import Path

from coilbench.errors import CoilbenchError
from coilbench.records.saved.intake import Intake
from coilbench.stages.demo import open_demo
from coilbench.stages.desk import Desk
from coilbench.stages.ratings.stage import RatingsStage
from coilbench.stages.windings.stage import WindingsStage


def proved_demo(path: Path) -> Path:
    """The bin at ``path``, made; motors that can't be rated are left as they are."""
    bin_, crate = open_demo(path)
    with bin_:
        for record in bin_.motors():
            desk = Desk(bin_, record.name)
            stage = WindingsStage(desk)
            stage.work_out()
            while stage.ask is not None:
                stage.measure(lambda a, b, name=record.name: crate.measure(name, a, b), "virtual meter")
                stage.work_out()
            stage.finish()
            intake = desk.known.get(Intake) or Intake()
            ratings = RatingsStage(desk)
            try:
                ratings.keep({**ratings.texts(), "face": intake.frame or ""})
            except CoilbenchError:
                continue
    return path
