"""The scan for low-speed resonance in the jog stage: its plan, its answers so far, what it found, what is kept."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coilbench.motion.resonance import Band, ScanPlan
    from coilbench.motion.trials import Outcome, Trial
    from coilbench.ui.panes.jog.setup import Setting

SCAN = "resonance"
ANSWER_S = 4.0  # what an answer costs, seconds, as the searches reckon
_START_SHARE = 0.8  # a scan stays this far below the known start limit


@dataclass(frozen=True)
class ScanState:
    """A scan's plan and what was answered so far."""

    plan: ScanPlan
    answers: tuple[tuple[Trial, Outcome], ...]

    @property
    def moves(self) -> int:
        """Moves made."""
        return len(self.answers)


@dataclass(frozen=True)
class ScanFound:
    """What a scan says. A band counts when the scan is ``done``; there is nothing to work with or to prove."""

    bands: tuple[Band, ...]
    done: bool
    moves: int
    to_go: int
    said: tuple[str, ...]
    unit: str = "steps/s"
    working_sps: None = None
    proved: int = 0


def scan_plan(
    setting: Setting, highest_sps: float, known: Mapping[str, Any] | None, ratings: Mapping[str, Any] | None = None
) -> dict[str, Any]:
    """The plan as plain JSON, below every limit that is known, closer where the ratings let resonance be expected.

    Raises InputProblem when the limits leave no room.
    """
    from coilbench.motion.resonance import ScanPlan
    from coilbench.ui.panes.jog.setup import swing_of

    usual = ScanPlan().highest_sps
    start, run = ((known or {}).get(key) for key in ("start_rate_sps", "run_rate_sps"))
    highest = min(usual, highest_sps, _START_SHARE * (start or usual / _START_SHARE), run or usual)
    plan = ScanPlan(setting.shaft, highest_sps=highest, swing_hz=swing_of(setting, ratings))
    return {"question": SCAN, **asdict(plan)}


def judge_scan(
    plain: Mapping[str, Any], saved: Iterable[Mapping[str, Any]]
) -> tuple[ScanState, Trial | None, ScanFound]:
    """State, next move and finding after saved answers. Raises InputProblem for what can't be read."""
    from coilbench.errors import InputProblem
    from coilbench.motion.resonance import ScanPlan, next_scan_trial, scan_bands
    from coilbench.motion.trials import Outcome, Shaft, Trial

    try:
        fields = {name: value for name, value in plain.items() if name != "question"}
        plan = ScanPlan(**{**fields, "shaft": Shaft(**fields["shaft"])})
        answers = tuple((Trial.from_dict(each["trial"]), Outcome.from_dict(each["outcome"])) for each in saved)
    except (TypeError, KeyError) as error:
        raise InputProblem(f"a saved scan can't be read: {error}") from None
    following = next_scan_trial(plan, answers)
    found = tuple(scan_bands(answers))
    to_go = len([rate for rate in plan.rates_sps if following is not None and rate >= following.tested])
    said = _said(plan, answers, found)
    return ScanState(plan, answers), following, ScanFound(found, following is None, len(answers), to_go, said)


def _said(plan: ScanPlan, answers: tuple[tuple[Trial, Outcome], ...], found: tuple[Band, ...]) -> tuple[str, ...]:
    if found:
        return tuple(
            f"Skips between {band.low_sps:.0f} and {band.high_sps:.0f} steps/s: pass through it quickly. "
            "Later searches keep away from it."
            for band in found
        )
    span = f"from {plan.lowest_sps:.0f} to {plan.highest_sps:.0f} steps/s"
    if any(outcome.skipped for _, outcome in answers):
        return (f"No band of resonance {span}: where it skipped more than once, nothing faster held.",)
    return (f"No skip {span}.",)
