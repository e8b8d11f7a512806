"""The stages in the order of the bench. The first screen waits for this module: what a stage needs is imported late.

To add one called ``torque``: its records in ``records/saved/torque.py``, its work in ``stages/torque.py``, and a row
here.
A stage whose work is a ``FormStage`` is shown as a form; how another one is shown stands in ``ui/panes``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING

from coilbench.records.saved.facts import Facts

if TYPE_CHECKING:
    from coilbench.stages.stage import Stage


NOT_TO_BE_USED = "this motor is not to be used"


def _always(known: Facts) -> str:
    return ""


def _not_to_be_used(known: Facts) -> str:
    """A motor that can't be used is neither put in order nor rated, connected, set or turned."""
    if "windings" not in known:
        return ""
    from coilbench.stages.fitness import fitness_of

    return "" if fitness_of(known).usable else NOT_TO_BE_USED


def _order_not_needed(known: Facts) -> str:
    """Where resistance tells the phases, the order only says which way the shaft turns."""
    if "windings" not in known:
        return ""
    from coilbench.records.saved.windings import Windings
    from coilbench.winding.engine.catalogue import CATALOGUE
    from coilbench.winding.engine.verdict import NAMED_FROM

    windings = known.get(Windings)
    if windings is None or windings.confidence < NAMED_FROM:
        return _not_to_be_used(known)
    found = CATALOGUE.find(windings.arrangement)
    if not found.ordered:
        return "its coils have no order to find"
    return _not_to_be_used(known) if found.phases_need_order else "its taps tell the phases; it only sets direction"


def _driver_not_needed(known: Facts) -> str:
    """A motor that was jogged by coil lines alone has no driver to set."""
    if unused := _not_to_be_used(known):
        return unused
    if "jog" not in known or "driver" in known:
        return ""
    from coilbench.records.saved.jog import Jog

    jog = known.get(Jog)
    if jog is None or not jog.drives:
        return ""
    by_driver = any(each.drive.kind == "driver" for each in jog.drives)
    return "" if by_driver else "it is driven by coil lines, without a driver"


@dataclass(frozen=True, slots=True)
class StageRow:
    """One stage: ``factory`` is ``module:Class``, imported when it is first at work.

    ``not_needed`` says why a motor of which this is known can do without it; empty where it can't.
    """

    id: str
    title: str
    says: str
    factory: str
    not_needed: Callable[[Facts], str] = _always
    first: bool = True  # may be the one to go on with

    def stage_class(self) -> type[Stage]:
        """Import and return the stage's class."""
        module_name, _, class_name = self.factory.partition(":")
        found: type[Stage] = getattr(import_module(module_name), class_name)
        return found


STAGES: tuple[StageRow, ...] = (
    StageRow("intake", "intake", "name, size, leads, label", "coilbench.stages.intake:IntakeStage", first=False),
    StageRow(
        "windings", "windings", "which lead belongs to which coil", "coilbench.stages.windings.stage:WindingsStage"
    ),
    StageRow(
        "order",
        "order",
        "in which order the coils turn the shaft",
        "coilbench.stages.order.stage:OrderStage",
        _order_not_needed,
    ),
    StageRow(
        "ratings",
        "ratings",
        "what current it can take",
        "coilbench.stages.ratings.stage:RatingsStage",
        _not_to_be_used,
    ),
    StageRow(
        "connection",
        "connection",
        "how to connect it to the driver",
        "coilbench.stages.connection.stage:ConnectionStage",
        _not_to_be_used,
    ),
    StageRow(
        "driver",
        "driver",
        "what to set the driver to, and whether it can work",
        "coilbench.stages.driver.stage:DriverStage",
        _driver_not_needed,
    ),
    StageRow(
        "jog",
        "jog",
        "how fast it starts and runs without lost steps",
        "coilbench.stages.jog.stage:JogStage",
        _not_to_be_used,
    ),
)


def row(stage_id: str) -> StageRow:
    """Look a stage up by its id. Raises KeyError."""
    found = next((each for each in STAGES if each.id == stage_id), None)
    if found is None:
        raise KeyError(stage_id)
    return found


def not_needed(known: Facts) -> dict[str, str]:
    """The stages that a motor can do without, each with why."""
    reasons = {each.id: each.not_needed(known) for each in STAGES}
    return {stage: reason for stage, reason in reasons.items() if reason}


def next_row(known: Facts) -> StageRow | None:
    """The stage to go on with: the first one not done, windings at the earliest; None when all are."""
    without = not_needed(known)
    return next((each for each in STAGES if each.first and each.id not in without and each.id not in known), None)


@dataclass(frozen=True, slots=True)
class Onward:
    """Where "next" leads: ``row`` is None at the end; ``skipped`` are the stages passed over, each with why."""

    row: StageRow | None
    skipped: tuple[tuple[str, str], ...] = ()

    @property
    def says(self) -> str:
        """What is to be said of it; empty where nothing was passed over."""
        if not self.skipped:
            return "" if self.row is not None else "this is the last stage"
        stages: dict[str, list[str]] = {}
        for title, reason in self.skipped:
            stages.setdefault(reason, []).append(title)
        told = "; ".join(f"{', '.join(titles)}: {reason}" for reason, titles in stages.items())
        return f"passed over {told}" if self.row is not None else f"nothing more to do: {told}"


def onward(stage_id: str, known: Facts) -> Onward:
    """The stage after this one that the motor needs. Raises KeyError."""
    after = STAGES[STAGES.index(row(stage_id)) + 1 :]
    without = not_needed(known)
    place = next((place for place, each in enumerate(after) if each.id not in without), None)
    passed = tuple((each.title, without[each.id]) for each in after[:place])
    return Onward(None if place is None else after[place], passed)
