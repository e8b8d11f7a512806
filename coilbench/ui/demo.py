"""The demo: a village repair workshop's crate of virtual motors, and a virtual meter that reads them.

The workshop builds a greenhouse vent opener, a turntable and a seed-tray feeder out of it. All of it is invented.
"""

from __future__ import annotations

import atexit
import math
import random
import shutil
import tempfile
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from coilbench.errors import CoilbenchError
from coilbench.winding.readings.reading import FRAME, PROBES

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from coilbench.records.store import Bin
    from coilbench.winding.order.types import Answer, NextTest


@dataclass(frozen=True)
class VirtualMotor:
    """A motor of known inside. ``leads`` stand in the order of the arrangement's terminals, spares last.

    ``unit_ohm`` is one coil, or one half-winding of a tapped one. ``dead`` and ``shorted`` are numbers of coil parts;
    ``leak_ohm`` joins the first lead to the frame.
    """

    name: str
    arrangement: str
    leads: tuple[str, ...]
    unit_ohm: float
    story: str
    frame: str | None = None
    dead: tuple[int, ...] = ()
    shorted: tuple[int, ...] = ()
    leak_ohm: float | None = None
    turns: int = 1  # which way its first step goes: 1 or -1

    @cached_property
    def resistance_ohm(self) -> NDArray[np.float64]:
        """True resistance between any two leads and the frame (last row), inf for open."""
        from coilbench.winding.engine.catalogue import CATALOGUE
        from coilbench.winding.engine.network import resistance_matrix

        winding = CATALOGUE[self.arrangement]
        frame = len(self.leads)
        inner_gap = frame + 1 - winding.terminals

        def number(node: int) -> int:
            return node if node < winding.terminals else node + inner_gap

        edges = [
            (number(u), number(v), self.unit_ohm * ohm * (0.55 if part in self.shorted else 1.0))
            for part, (u, v, ohm) in enumerate(winding.edges)
            if part not in self.dead
        ]
        if self.leak_ohm is not None:
            edges.append((0, frame, self.leak_ohm))
        nodes = max(frame + 1, *(max(u, v) + 1 for u, v, _ in edges))
        return resistance_matrix(nodes, edges, frame + 1)

    @cached_property
    def ring(self) -> dict[str, int]:
        """Each end's place in the switching sequence, 0 to 3, for motors of five, six and eight leads.

        Eight leads: halves 1 and 3 make a phase, the third the other way round; halves 2 and 4 the other.
        """
        places = {"unipolar-5": _FIVE, "unipolar-6": _SIX, "split-8": _EIGHT}.get(self.arrangement, {})
        return {self.leads[terminal]: place for terminal, place in places.items()}


_FIVE = {1: 0, 2: 1, 3: 2, 4: 3}
_SIX = {0: 0, 3: 1, 2: 2, 5: 3}
_EIGHT = {0: 0, 5: 0, 1: 2, 4: 2, 2: 1, 6: 1, 3: 3, 7: 3}

CRATE = (
    VirtualMotor("M-01", "bipolar-4", ("black", "green", "red", "blue"), 2.4, "flat-bed scanner", "NEMA 17"),
    VirtualMotor("M-02", "unipolar-6", ("BK", "YE", "GN", "RD", "WH", "BU"), 24.0, "wide printer", "NEMA 23"),
    VirtualMotor(
        "M-03", "unipolar-5", ("RD", "OG", "YE", "PK", "BU"), 52.0, "tin can from a flap", "35 mm can", turns=-1
    ),
    VirtualMotor(
        "M-04",
        "split-8",
        ("BK", "OG", "RD", "YE", "RD/WH", "YE/WH", "BK/WH", "OG/WH"),
        0.9,
        "copier's paper deck",
        "NEMA 23",
    ),
    VirtualMotor(
        "M-05", "unipolar-6", ("1", "2", "3", "4", "5", "6"), 33.0, "plug, no colours", "NEMA 17",
        dead=(3,),
    ),
    VirtualMotor(
        "M-06", "bipolar-4", ("brown", "orange", "yellow", "red"), 5.1, "damp cellar find", "NEMA 17",
        leak_ohm=14_000.0,
    ),
    VirtualMotor("M-07", "three-phase-3", ("WH", "BK", "RD"), 1.7, "disk drive spindle"),
    VirtualMotor("M-08", "five-phase-ring-5", ("BU", "RD", "OG", "GN", "BK"), 1.1, "old pen plotter", "NEMA 23"),
    VirtualMotor("M-09", "bipolar-4", ("RD", "GY", "YE", "BK", "GN"), 4.2, "till drawer", "NEMA 17"),
    VirtualMotor("M-10", "unipolar-6", ("VT", "WH", "BN", "GY", "BK", "BU"), 75.0, "typewriter carriage", "NEMA 17"),
    VirtualMotor("M-11", "three-phase-star-4", ("BK", "RD", "YE", "WH"), 3.3, "laser printer's mirror"),
    VirtualMotor(
        "M-12", "split-8", ("A1", "A2", "B1", "B2", "C1", "C2", "D1", "D2"), 1.6, "block of eight", "NEMA 34",
        shorted=(1,),
    ),
)  # fmt: skip

_BY_NAME = {motor.name: motor for motor in CRATE}


@dataclass
class VirtualCrate:
    """The virtual motors with one hand-held meter: a gain error, probes of 0.2 ohm, a display of 0.1 ohm."""

    gain: float = 0.006
    probes_ohm: float = 0.2
    names: dict[str, str] = field(default_factory=dict)  # those given by the person, to those of the crate

    def rename(self, before: str, name: str) -> None:
        """Know a motor by another name."""
        if self.has(before):
            self.names[name] = self.names.pop(before, before)

    def motor(self, name: str) -> VirtualMotor:
        """The motor of that name. Raises CoilbenchError for one that was added by hand."""
        if not self.has(name):
            raise CoilbenchError(
                f"{name} is a motor of your own; the virtual meter reads only the demo's motors",
                title="no such virtual motor",
                remedy="type what your own meter says, or open one of M-01 to M-12",
            )
        return _BY_NAME[self.names.get(name, name)]

    def has(self, name: str) -> bool:
        """Whether the virtual meter can read this motor."""
        return self.names.get(name, name) in _BY_NAME

    def measure(self, name: str, a: str, b: str) -> float:
        """What the meter's display says in ohm, inf for OL."""
        if PROBES in (a, b):
            return round(self.probes_ohm, 1)
        motor = self.motor(name)
        places = [*motor.leads, FRAME]
        true_ohm = float(motor.resistance_ohm[places.index(a), places.index(b)])
        if math.isinf(true_ohm):
            return math.inf
        shown = true_ohm * (1 + self.gain) + self.probes_ohm
        step = 0.1 if shown < 600 else 1.0 if shown < 6000 else 10.0
        return round(round(shown / step) * step, 1)

    def twitch(self, name: str, test: NextTest) -> Answer:
        """What the shaft or the meter does at a test by hand."""
        motor = self.motor(name)
        steps = (motor.ring[test.touched] - motor.ring[test.reference]) * motor.turns % 4
        if test.kind == "flick":
            return "plus" if steps == 0 else "minus" if steps == 2 else "none"
        return "cw" if steps == 1 else "ccw" if steps == 3 else "none"


def open_demo(path: Path | None = None) -> tuple[Bin, VirtualCrate]:
    """A bin with the demo's crate: a scratch one that is gone afterwards, or ``path``, which is kept."""
    from coilbench.records.store import Bin

    if path is None:
        folder = Path(tempfile.mkdtemp(prefix="coilbench-demo-"))
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
        path = folder / "demo.bin"
    bin = Bin.open(path)
    if not bin.motors():
        for number, motor in enumerate(CRATE):
            leads = list(motor.leads)
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
