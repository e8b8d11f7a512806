"""One motor in a line: what it is, what comes next, how far it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.records.rows import MotorRecord
from coilbench.records.saved.facts import Facts
from coilbench.records.store import Bin
from coilbench.stages.table import STAGES, next_row, not_needed

if TYPE_CHECKING:
    from coilbench.records.saved.windings import Windings


@dataclass(frozen=True, slots=True)
class Overview:
    """A motor among others: ``leads`` are counted, ``done`` is empty while nothing is, ``note`` is its label."""

    motor: str
    leads: int
    found: str
    next: str
    done: str
    note: str


def overview(bin: Bin, motor: MotorRecord) -> Overview:
    """The line of one motor."""
    known = bin.known(motor.name)
    without = not_needed(known)
    count = sum(each.id in known for each in STAGES)
    to_do = sum(each.id in known or each.id not in without for each in STAGES)
    return Overview(
        motor.name,
        len(motor.leads),
        _found(known, motor.readings),
        _next(known),
        f"{count} of {to_do}" if count else "",
        _label(known),
    )


def _windings(known: Facts) -> Windings | None:
    """What is known of the windings; nothing is imported for a motor of which nothing is."""
    if "windings" not in known:
        return None
    from coilbench.records.saved.windings import Windings

    return known.get(Windings)


def _label(known: Facts) -> str:
    if "intake" not in known:
        return ""
    from coilbench.records.saved.intake import Intake

    intake = known.get(Intake)
    return (intake.label if intake is not None else None) or ""


def warning(known: Facts) -> str:
    """What stands over every stage of a faulty motor; empty for a sound one."""
    windings = _windings(known)
    if windings is None or not windings.faults:
        return ""
    from coilbench.stages.fitness import fitness_of

    return fitness_of(known).says


def _found(known: Facts, readings: int) -> str:
    windings = _windings(known)
    if windings is None:
        return f"{readings} reading{'' if readings == 1 else 's'}, not sorted yet" if readings else "not sorted yet"
    kinds = sorted({fault.kind for fault in windings.faults})
    marks = ", ".join("leaks to frame" if kind == "frame" else kind for kind in kinds)
    return f"{windings.arrangement} ! {marks}" if kinds else windings.arrangement


def _next(known: Facts) -> str:
    windings = _windings(known)
    if windings is not None and windings.faults:
        from coilbench.stages.fitness import fitness_of

        if not fitness_of(known).usable:
            return "not to be used"
    found = next_row(known)
    return "all done" if found is None else found.title
