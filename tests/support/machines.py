"""Small machines and bins of motors for them."""

from __future__ import annotations

from dataclasses import replace

from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import desk_of
from coilbench.stages.machine.answer import FitAnswer
from coilbench.stages.machine.file import machine_in
from coilbench.stages.machine.fit import fit_answer

HEAD = '[[supply]]\nname = "block"\nvolt = "24 V"\n[[driver]]\nname = "board"\nchip = "DRV8825"\n'
BELT = 'kind = "belt"\npulley-teeth = 20\npitch = "2 mm"\nfriction = 0.1\nspeed = "40 mm/s"\n'
# Of the size that data sheets of 42 mm motors print; invented.
RATED = Ratings(
    current_ampere=1.0,
    estimate_ampere=1.0,
    resistance_ohm=3.0,
    inductance_henry=5e-3,
    holding_torque_newton_metre=0.3,
    step_angle_degree=1.8,
    inertia_kilogram_metre2=5e-6,
)


def add(bin_: Bin, name: str, **figures: float) -> None:
    leads = ("RD", "BU", "GN", "BK")
    desk = desk_of(bin_, name, leads)
    ohm = figures.get("resistance_ohm", RATED.resistance_ohm)
    coils = tuple(Coil(name=each, ends=ends, ohms=ohm) for each, ends in (("A", leads[:2]), ("B", leads[2:])))
    desk.keep("windings", Windings(arrangement="bipolar-4", confidence=0.99, coils=coils))
    desk.keep("ratings", replace(RATED, **figures))


def axis(name: str, mass: str = "1 kg", more: str = "", kind: str = BELT) -> str:
    return f'[[axis]]\nname = "{name}"\nmass = "{mass}"\n{kind}{more}'


def fit(bin_: Bin, *axes: str, head: str = HEAD) -> FitAnswer:
    return fit_answer(machine_in(head + "".join(axes), "bench.toml"), bin_)
