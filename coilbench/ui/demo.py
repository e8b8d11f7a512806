"""The demo's bin: a motor bin with the demo's crate in it."""

from __future__ import annotations

import atexit
import random
import shutil
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

from coilbench.board.virtual.crate import VirtualCrate
from coilbench.board.virtual.demo_motors import DEMO_MOTORS

if TYPE_CHECKING:
    from coilbench.records.store import Bin


def open_demo(path: Path | None = None) -> tuple[Bin, VirtualCrate]:
    """A bin with the demo's motors: a scratch one that is gone afterwards, or ``path``, which is kept."""
    from coilbench.records.store import Bin

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
            bin.put_fact(
                motor.name,
                "intake",
                {
                    "frame": motor.frame,
                    "diameter_metre": None,
                    "length_metre": None,
                    "label": motor.story,
                    "step_angle_degree": None,
                },
            )
    return bin, VirtualCrate()
