"""What a faulty motor is still good for: the one judgement that every later stage goes by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, Protocol

from coilbench.winding.engine.catalogue import CATALOGUE, Arrangement, Catalogue
from coilbench.winding.engine.verdict import NAMED_FROM

FAULT_WORDS = {
    "open": "an open coil",
    "shorted-turns": "shorted turns",
    "broken-lead": "a broken lead",
    "frame": "a leak to the case",
}
LEAK_REMEDY = "set it aside for its parts; one that got damp may come good: dry it warm for a day, measure again"
MEND_REMEDY = "look for the break close to the case: there it can be mended"


@dataclass(frozen=True, slots=True)
class Fitness:
    """``only`` is the one connection that is left where not all are.

    ``says`` is the short line that stands over every stage, ``why`` what it rests on, ``remedy`` what may help; a
    sound motor has none of them.
    """

    usable: bool = True
    only: Literal["half-coil", "series"] | None = None
    says: str = ""
    why: str = ""
    remedy: str = ""

    @property
    def line(self) -> str:
        """All of it in one line."""
        return "; ".join(part for part in (self.says, self.why, self.remedy) if part)


class KnownFault(Protocol):
    """A fault and the leads that it concerns."""

    @property
    def kind(self) -> str: ...

    @property
    def leads(self) -> Sequence[str]: ...


class KnownWindings(Protocol):
    """Windings as they were just judged, or as they are saved."""

    @property
    def arrangement(self) -> str: ...

    @property
    def confidence(self) -> float: ...

    @property
    def faults(self) -> Sequence[KnownFault]: ...


def fitness(windings: KnownWindings | None, catalogue: Catalogue = CATALOGUE) -> Fitness:
    """What a motor with these windings can be used for; everything while nothing is known."""
    faults = windings.faults if windings is not None else ()
    frame = dict.fromkeys(lead for fault in faults if fault.kind == "frame" for lead in fault.leads)
    if frame:
        says = f"do not power this motor: {', '.join(frame)} conducts to the case"
        return Fitness(False, None, says, remedy=LEAK_REMEDY)
    if windings is None or not faults:
        return Fitness()
    found = _of_fault(faults[0], catalogue.find(windings.arrangement))
    if windings.confidence < NAMED_FROM:
        return replace(found, says=f"perhaps {found.says}", remedy="measure on until every lead is placed")
    return found


def _of_fault(fault: KnownFault, arrangement: Arrangement) -> Fitness:
    kind, leads = fault.kind, fault.leads
    what = f"{FAULT_WORDS.get(kind, kind)} at {', '.join(leads)}"
    parts = f"keep this motor for parts: {what}"
    if kind == "shorted-turns":
        # A closed turn is a shorted transformer winding: also with its own half idle it loads its phase.
        why = "closed turns brake a motor and overheat at any current, so there is no safe one"
        return Fitness(False, None, parts, why, "measured cold once more, does the coil still read low?")
    if arrangement.two_phase == "tapped" and kind == "broken-lead":
        return Fitness(True, "series", f"series drive only: {what}", "the tap is lost, both coils are whole")
    if arrangement.two_phase == "tapped" and len(leads) == 1:
        return Fitness(True, "half-coil", f"half-coil drive only: {what}", _HALF_LEFT, MEND_REMEDY)
    if arrangement.halves_pair and len(leads) == 2:
        remedy = f"the flick test tells which of the other halves share a phase; {MEND_REMEDY}"
        return Fitness(True, "half-coil", f"half-coil drive only: {what}", _HALF_LEFT, remedy)
    if arrangement.two_phase == "common":
        why = "it loses steps on a unipolar driver, and a bipolar one can't work through the common lead"
        return Fitness(False, None, parts, why, MEND_REMEDY)
    return Fitness(False, None, parts, "it can't turn like this", MEND_REMEDY)


_HALF_LEFT = "one half of a coil is dead, a sound half to each phase turns it on a bipolar driver"
