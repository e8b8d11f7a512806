"""Whose figures are whose: of each drive its own, and each search's proof with its own figure."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.board.session.drive import Drive
from coilbench.board.session.figures import NO_FIGURES, drive_of, figures_of, with_bands, with_figures, with_search
from coilbench.motion.resonance import Band
from coilbench.motion.search import SearchSummary
from coilbench.motion.search_summary import Curve

DRIVES = [
    Drive(),
    Drive(microsteps=16),
    *(Drive(kind, form=form) for kind in ("array", "bridge") for form in ("wave", "full", "half")),
]  # type: ignore[arg-type]


@pytest.mark.parametrize("drive", DRIVES)
def test_a_result_tells_its_drive(drive: Drive) -> None:
    assert drive_of({"drive": drive.as_dict()}) == drive


@given(st.lists(st.tuples(st.sampled_from(DRIVES), st.floats(10, 1e4)), max_size=12))
def test_figures_of_drives_never_mix(found: list[tuple[Drive, float]]) -> None:
    """Whatever the order in which they are found, each drive has its own last figure, and nothing is lost."""
    fact, last = None, {}
    for drive, rate in found:
        fact, last[drive.key] = with_figures(fact, drive, {"start_rate_sps": rate}), rate
    for drive in DRIVES:
        assert figures_of(fact, drive)["start_rate_sps"] == last.get(drive.key)
    if fact is not None:
        assert len(fact["others"]) == len(last) - 1 and not any("others" in each for each in fact["others"])


def test_a_result_of_before_there_were_drives_is_a_drivers() -> None:
    old = {"start_rate_sps": 500.0, "microsteps": 8, "resonance_sps": [111]}
    assert drive_of(old) == Drive(microsteps=8)
    assert figures_of(old, Drive("array")) == NO_FIGURES
    kept = with_figures(old, Drive("array"), {"start_rate_sps": 300.0})
    assert figures_of(kept, Drive())["start_rate_sps"] == 500 and kept["start_rate_sps"] == 300


def found(question: str, working_sps: float | None, proved: int = 0) -> SearchSummary:
    """A search's finding, however it came about."""
    curve = Curve((), (), (), ())
    return SearchSummary(
        question, "steps/s", 1000.0, (900.0, 1100.0), working_sps, "width", 9, 0, proved, None, curve, ()
    )


def test_each_search_puts_in_its_own_figure_and_proof() -> None:
    figures = with_search(NO_FIGURES, found("start", 700.0, proved=20), 5000.0)
    assert figures["start_rate_sps"] == figures["working_rate_sps"] == 700 and figures["acceleration_sps2"] is None
    figures = with_search(figures, found("run", 2000.0), 5000.0)
    assert (figures["run_rate_sps"], figures["working_rate_sps"], figures["acceleration_sps2"]) == (2000, 2000, 5000)
    assert figures["proved"] == {"start": 20, "run": 0}  # the start stays proved, the run isn't
    figures = with_search(figures, found("start", 650.0), 5000.0)
    assert figures["start_rate_sps"] == 650 and figures["proved"]["start"] == 0  # a new figure wants its own proof
    assert figures["working_rate_sps"] == 2000  # a run is known: the start isn't the rate to work with
    figures = with_search(figures, found("acceleration", 9000.0), 5000.0)
    assert figures["acceleration_sps2"] == 9000 and figures["run_rate_sps"] == 2000
    assert with_search(figures, found("run", None), 5000.0) == figures
    assert NO_FIGURES["proved"] == {}


def test_bands_are_kept_with_their_middle() -> None:
    figures = with_bands(NO_FIGURES, [Band(100.0, 144.0)])
    assert figures["resonance_sps"] == [120] and figures["resonance_bands_sps"] == [[100.0, 144.0]]
