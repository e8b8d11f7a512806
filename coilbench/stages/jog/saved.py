"""Drives, shafts, plans, trials and outcomes: between those of the engines and those that are saved."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING, Any

from coilbench.board.session.drive import Drive
from coilbench.errors import InputProblem
from coilbench.motion.trials import Outcome, Shaft, Trial
from coilbench.records.saved.jog import SavedDrive, SavedOutcome, SavedPlan, SavedShaft, SavedTrial

if TYPE_CHECKING:
    from coilbench.motion.resonance import ScanPlan
    from coilbench.motion.search_plan import SearchPlan
    from coilbench.motion.swing import SwingPlan

    Plan = SearchPlan | ScanPlan | SwingPlan

SCAN, SWING = "resonance", "swing"
WHOLE = (SCAN, SWING)  # what has no range to narrow


def saved_drive(drive: Drive) -> SavedDrive:
    """A drive to be kept: of its microsteps and its form the one that counts."""
    return SavedDrive(
        kind=drive.kind, **({"form": drive.form} if drive.by_coils else {"microsteps": drive.microsteps})
    )


def drive_of(saved: SavedDrive) -> Drive:
    """A drive as it was kept."""
    return Drive(**_values(saved))


def saved_shaft(shaft: Shaft) -> SavedShaft:
    """A shaft to be kept."""
    return SavedShaft(**_values(shaft))


def shaft_of(saved: SavedShaft) -> Shaft:
    """A shaft as it was kept. Raises InputProblem for one that can't be."""
    return Shaft(**_values(saved))


def saved_plan(plan: Plan) -> SavedPlan:
    """A plan, to be kept."""
    from coilbench.motion.swing import SwingPlan

    question = SWING if isinstance(plan, SwingPlan) else SCAN
    return SavedPlan(**{"question": question, **_values(plan), "shaft": saved_shaft(plan.shaft)})


def plan_of(saved: SavedPlan) -> Plan:
    """A plan as it was kept; what it doesn't say is as usual. Raises InputProblem for one that can't be."""
    from coilbench.motion.resonance import ScanPlan
    from coilbench.motion.search_plan import SearchPlan
    from coilbench.motion.swing import SwingPlan

    shape: Any = {SCAN: ScanPlan, SWING: SwingPlan}.get(saved.question, SearchPlan)
    given = {each.name: getattr(saved, each.name) for each in fields(shape)}
    plan: Plan
    try:
        plan = shape(
            **{name: value for name, value in given.items() if value is not None} | {"shaft": shaft_of(saved.shaft)}
        )
    except TypeError as error:
        raise InputProblem(f"a saved search can't be read: {error}") from None
    return plan


def saved_trial(trial: Trial) -> SavedTrial:
    """A move to be kept."""
    return SavedTrial(**_values(trial))


def trial_of(saved: SavedTrial) -> Trial:
    """A move as it was kept. Raises InputProblem for one that can't be."""
    if saved.steps < 1:
        raise InputProblem(f"a saved trial can't be: {saved.steps} steps at {saved.tested:g}")
    return Trial(**_values(saved))


def saved_outcome(outcome: Outcome) -> SavedOutcome:
    """What became of a move, to be kept."""
    return SavedOutcome(**_values(outcome))


def outcome_of(saved: SavedOutcome) -> Outcome:
    """What became of a move, as it was kept."""
    return Outcome(**_values(saved))


def _values(record: Any) -> dict[str, Any]:
    return {each.name: getattr(record, each.name) for each in fields(record)}
