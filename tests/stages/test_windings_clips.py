"""The windings stage with a board that measures the leads on its clips."""

from __future__ import annotations

import pytest

from coilbench.board.virtual.crate import crate_motor
from coilbench.errors import InputProblem
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.windings.clips import ClipInTheAir
from coilbench.stages.windings.stage import WindingsStage
from coilbench.winding.readings.clips import ClipMap


def measured(desk: Desk, options: str) -> tuple[WindingsStage, ClipMap]:
    """A stage whose board has measured the leads of ``desk``."""
    stage = WindingsStage(desk)
    stage.clips.connect(f"virtual://bench?clock=free&{options}")()
    stage.clips.greeted()
    found = stage.clips.measure(desk.leads)().found
    assert found is not None
    return stage, found


def test_a_motor_is_named_and_only_its_case_is_left_to_measure() -> None:
    desk = scratch_desk(("RD", "BU", "WH", "BK", "GN", "YE"))
    stage, found = measured(desk, "wound=M-02&clips=402513")
    assert stage.clips.wiring(desk.leads)[0] == "clip 1: RD (pin 8, A0)"
    stage.take_clips(found)
    state = stage.work_out()
    assert state.named and state.ask is not None and state.ask.kind == "frame"
    inside = crate_motor("M-02").windings.leads
    lead = dict(zip((inside[k] for k in (4, 0, 2, 5, 1, 3)), desk.leads, strict=True))
    assert {(frozenset(coil.ends), coil.tap) for coil in stage.judged_last.coils} == {
        (frozenset((lead[inside[a]], lead[inside[b]])), lead[inside[t]]) for a, t, b in ((0, 1, 2), (3, 4, 5))
    }
    assert len(desk.readings) == 15
    stage.take_clips(found)  # measured once more
    assert len(desk.readings) == 15
    stage.undo()
    stage.undo()
    assert not desk.readings


def test_a_clip_in_the_air_names_nothing_until_it_is_said_to_sit() -> None:
    desk = scratch_desk(("RD", "GY", "YE", "BK", "GN"))
    stage, found = measured(desk, "wound=M-09")
    with pytest.raises(ClipInTheAir) as fault:
        stage.take_clips(found)
    assert fault.value.leads == ("GN",) and not desk.readings
    stage.take_clips(found, silent=["GN"])
    assert stage.work_out().named and stage.judged_last.spare == ("GN",)


def test_what_moved_and_what_does_not_fit() -> None:
    desk = scratch_desk(("1", "2", "3", "4"))
    stage, found = measured(desk, "wound=M-01")
    with pytest.raises(InputProblem, match="both ways round"):
        stage.take_clips(ClipMap(found.readings, (), restless=True))
    with pytest.raises(InputProblem, match="9 leads, but the board has 8 clips"):
        measured(scratch_desk([str(k) for k in range(9)]), "wound=M-01")
