"""The demo's board: a virtual one, with a motor about the size of the one on the desk."""

from __future__ import annotations

from coilbench.board.link.ports import VIRTUAL, PortChoice
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake


def is_can(known: Facts) -> bool:
    """Whether the motor is a round can, by what was seen of it."""
    intake = known.get(Intake)
    return intake is not None and (intake.frame or "").strip().lower().endswith("can")


def virtual_port(known: Facts, options: str = "") -> PortChoice:
    """The port of a virtual board that turns a motor of this size; ``options`` are more of its URL."""
    intake = known.get(Intake)
    large = intake is not None and intake.frame in ("NEMA 23", "NEMA 34")
    name = "turntable" if large else "tincan" if is_can(known) else "bench"
    return PortChoice(f"{VIRTUAL}{name}{f'?{options}' if options else ''}", "virtual board and motor")
