"""One motor in a line: what it is, its figures, what comes next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.records.rows import MotorRecord
from coilbench.records.saved.facts import Facts
from coilbench.records.store import Bin
from coilbench.stages.table import next_row

if TYPE_CHECKING:
    from coilbench.records.saved.notes import Notes
    from coilbench.records.saved.windings import Windings


@dataclass(frozen=True, slots=True)
class Overview:
    """A motor among others, each text empty where nothing is known: ``found`` are its windings, ``ohms`` those of a
    coil or half-winding, ``current`` its rating, ``rates`` the start-stop and the slew rate in full steps/s, ``next``
    the stage to go on with or the verdict, ``note`` where it came from, else its label; ``more`` is what else was
    noted, ``archived`` whether it is put away."""

    motor: str
    found: str = ""
    ohms: str = ""
    current: str = ""
    vref: str = ""
    rates: str = ""
    next: str = ""
    note: str = ""
    more: str = ""
    archived: bool = False

    @property
    def verdict(self) -> str:
        """What comes next, or how it ended."""
        return self.next if self.next in _ENDS else f"next: {self.next}"


ALL_DONE = "all done"
UNUSABLE = "not to be used"
UNREADABLE = "can't be read"
UNSEEN = "…"  # nobody looked yet
_ENDS = (ALL_DONE, UNUSABLE, UNREADABLE, UNSEEN)


def overview(bin: Bin, motor: MotorRecord) -> Overview:
    """The line of one motor."""
    known = bin.known(motor.name)
    notes, label = _notes(known), _label(known)
    return Overview(
        motor=motor.name,
        found=_found(known, motor),
        ohms=_ohms(known),
        current=_current(known),
        vref=_vref(known),
        rates=_rates(known),
        next=_next(known),
        note=notes.origin or label if notes is not None else label,
        more=" ".join((label, notes.text)) if notes is not None else "",
        archived=notes is not None and notes.archived,
    )


def is_finished(known: Facts) -> bool:
    """Whether every stage that the motor needs is done, and it may be used."""
    return _next(known) == ALL_DONE


# Nothing is imported for a motor of which nothing is known: the first screen waits for this.


def _ohms(known: Facts) -> str:
    if "windings" not in known:
        return ""
    from coilbench.stages.motor import half_winding_ohm

    ohm = half_winding_ohm(known)
    return "" if ohm is None else _figure(ohm, "ohm")


def _current(known: Facts) -> str:
    if "ratings" not in known:
        return ""
    from coilbench.records.saved.ratings import Ratings

    ratings = known.get(Ratings)
    return "" if ratings is None or ratings.current_ampere is None else _figure(ratings.current_ampere, "ampere")


def _vref(known: Facts) -> str:
    if "driver" not in known:
        return ""
    from coilbench.records.saved.driver import Driver

    driver = known.get(Driver)
    return "" if driver is None or driver.vref_volt is None else _figure(driver.vref_volt, "volt")


def _rates(known: Facts) -> str:
    if "jog" not in known:
        return ""
    from coilbench.records.saved.jog import Jog

    jog = known.get(Jog)
    first = jog.drives[0] if jog is not None and jog.drives else None
    if first is None:
        return ""
    return " / ".join("–" if each is None else f"{each:.0f}" for each in (first.start_rate_sps, first.run_rate_sps))


def _figure(value: float, unit: str) -> str:
    from coilbench.quantity import format_quantity

    return format_quantity(value, unit, 3)


def _windings(known: Facts) -> Windings | None:
    """What is known of the windings; nothing is imported for a motor of which nothing is."""
    if "windings" not in known:
        return None
    from coilbench.records.saved.windings import Windings

    return known.get(Windings)


def _notes(known: Facts) -> Notes | None:
    if "notes" not in known:
        return None
    from coilbench.records.saved.notes import Notes

    return known.get(Notes)


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


def _found(known: Facts, motor: MotorRecord) -> str:
    windings = _windings(known)
    if windings is None:
        count, leads = motor.readings, f"{len(motor.leads)} leads"
        return f"{leads}, {count} reading{'' if count == 1 else 's'}" if count else leads
    kinds = sorted({fault.kind for fault in windings.faults})
    marks = ", ".join("leaks to case" if kind == "frame" else kind for kind in kinds)
    return f"{windings.arrangement} ! {marks}" if kinds else windings.arrangement


def _next(known: Facts) -> str:
    windings = _windings(known)
    if windings is not None and windings.faults:
        from coilbench.stages.fitness import fitness_of

        if not fitness_of(known).usable:
            return UNUSABLE
    found = next_row(known)
    return ALL_DONE if found is None else found.title
