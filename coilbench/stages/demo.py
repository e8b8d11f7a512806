"""The demo's bin: a motor bin with the demo's crate in it."""

from __future__ import annotations

import atexit
import random
import shutil
import tempfile
from pathlib import Path

from coilbench.board.virtual.crate import VirtualCrate
from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.records.saved.intake import Intake
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk


def open_demo(path: Path | None = None) -> tuple[Bin, VirtualCrate]:
    """A bin with the demo's motors: a scratch one that is gone afterwards, or ``path``, which is kept."""
    if path is None:
        folder = Path(tempfile.mkdtemp(prefix="coilbench-demo-"))
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        path = folder / "demo.bin"
    bin = Bin.open(path)
    if not bin.motors():
        for number, motor in enumerate(DEMO_MOTORS):
            leads = list(motor.windings.leads)
            random.Random(number).shuffle(leads)
            bin.add_motor(motor.name, tuple(sorted(leads, key=int)) if leads[0].isdigit() else tuple(leads))
            Desk(bin, motor.name).derive(Intake(frame=motor.frame, label=motor.story))
    return bin, VirtualCrate()
