"""Whose figures are whose: of each drive its own, and each search's proof with its own figure."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.board.session.drive import Drive
from coilbench.errors import InputProblem
from coilbench.motion.resonance import Band, ScanPlan
from coilbench.motion.search import SearchPlan, SearchSummary
from coilbench.motion.search_summary import Curve
from coilbench.motion.trials import Outcome, Shaft, Trial, off_by
from coilbench.records.saved.jog import Figures, Jog, SavedPlan, SavedShaft, SavedTrial
from coilbench.stages.jog.figures import figures_of, with_bands, with_figures, with_search
from coilbench.stages.jog.saved import (
    drive_of,
    outcome_of,
    plan_of,
    saved_drive,
    saved_outcome,
    saved_plan,
    saved_trial,
    trial_of,
)

DRIVES = [
    Drive(),
    Drive(microsteps=16),
    *(Drive(kind, form=form) for kind in ("array", "bridge") for form in ("wave", "full", "half")),
]  # type: ignore[arg-type]


@pytest.mark.parametrize("drive", DRIVES)
def test_a_drive_comes_back_from_what_is_saved(drive: Drive) -> None:
    assert drive_of(saved_drive(drive)) == drive
    assert drive.pulses == (2 if drive.form == "half" and drive.by_coils else drive.microsteps)


@pytest.mark.parametrize(
    "plan",
    [
        SearchPlan("run", 100, 9000, Shaft(48, 64.0, sensor=True), avoid=((80.0, 120.0),)),
        ScanPlan(Shaft(200), swing_hz=173.0),
    ],
)
def test_plans_come_back_from_what_is_saved(plan: SearchPlan | ScanPlan) -> None:
    assert plan_of(saved_plan(plan)) == plan


def test_moves_and_answers_come_back_from_what_is_saved() -> None:
    trial = Trial("run", 1000, 300, 100, 1000, 5000, 100, 0.5)
    assert trial_of(saved_trial(trial)) == trial
    for outcome in (Outcome("returned"), off_by(3), off_by(), Outcome("unclear"), Outcome("off", 2, 8.3)):
        assert outcome_of(saved_outcome(outcome)) == outcome


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputProblem):
        plan_of(SavedPlan(question="run", shaft=SavedShaft(steps_per_turn=200)))
    with pytest.raises(InputProblem):
        plan_of(SavedPlan(question="resonance", shaft=SavedShaft(steps_per_turn=0)))
    still = {
        "tested": 1.0,
        "start_rate_sps": 1.0,
        "run_rate_sps": 1.0,
        "acceleration_sps2": 1.0,
        "back_rate_sps": 1.0,
    }
    with pytest.raises(InputProblem):
        trial_of(SavedTrial(question="run", steps=0, dwell_s=0.0, **still))


@given(st.lists(st.tuples(st.sampled_from(DRIVES), st.floats(10, 1e4)), max_size=12))
def test_figures_of_drives_never_mix(found: list[tuple[Drive, float]]) -> None:
    """Whatever the order in which they are found, each drive has its own last figure, and nothing is lost."""
    jog: Jog | None = None
    last: dict[tuple[str, str], float] = {}
    for drive, rate in found:
        jog = with_figures(jog, Figures(drive=saved_drive(drive), start_rate_sps=rate))
        last[drive.key] = rate
    for drive in DRIVES:
        assert figures_of(jog, drive).start_rate_sps == last.get(drive.key)
    if jog is not None:
        assert len(jog.drives) == len(last) and drive_of(jog.drives[0].drive) == found[-1][0]


def found(question: str, working_sps: float | None, proved: int = 0) -> SearchSummary:
    """A search's finding, however it came about."""
    curve = Curve((), (), (), ())
    return SearchSummary(
        question, "steps/s", 1000.0, (900.0, 1100.0), working_sps, "width", 9, 0, proved, None, curve, ()
    )


def test_each_search_puts_in_its_own_figure_and_proof() -> None:
    figures = with_search(Figures(), found("start", 700.0, proved=20), 5000.0)
    assert figures.start_rate_sps == figures.working_rate_sps == 700 and figures.run_acceleration_sps2 is None
    figures = with_search(figures, found("run", 2000.0), 5000.0)
    assert (figures.run_rate_sps, figures.working_rate_sps, figures.run_acceleration_sps2) == (2000, 2000, 5000)
    assert figures.acceleration_sps2 is None  # nobody looked for it
    assert figures.proved == {"start": 20, "run": 0}  # the start stays proved, the run isn't
    figures = with_search(figures, found("start", 650.0), 5000.0)
    assert figures.start_rate_sps == 650 and figures.proved["start"] == 0  # a new figure wants its own proof
    assert figures.working_rate_sps == 2000  # a run is known: the start isn't the rate to work with
    figures = with_search(figures, found("acceleration", 9000.0), 5000.0)
    assert figures.acceleration_sps2 == 9000 and figures.run_rate_sps == 2000
    figures = with_search(figures, found("run", 2100.0), 4000.0)
    assert figures.acceleration_sps2 == 9000  # a run at another one doesn't take it away
    assert with_search(figures, found("run", None), 5000.0) == figures


def test_bands_are_kept_with_their_middle() -> None:
    figures = with_bands(Figures(), [Band(100.0, 144.0)])
    assert figures.resonance_sps == (120,) and figures.resonance_bands_sps == ((100.0, 144.0),)
