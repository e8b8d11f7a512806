"""The windings stage with a board that measures the leads on its clips."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from coilbench.board.virtual.crate import VirtualCrate, crate_motor
from coilbench.board.virtual.inductances import TIME_CONSTANT_S
from coilbench.errors import InputProblem
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Inductance, Windings
from coilbench.stages import motor
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.torque_curve import TorqueCurve
from coilbench.stages.windings.clips import ClipInTheAir
from coilbench.stages.windings.stage import WindingsStage
from coilbench.winding.readings.clips import ClipMap
from coilbench.winding.readings.inductance import NotTimed

M_02_HENRY = 24 * TIME_CONSTANT_S * 3.94  # end to end: two halves that share 0.97 of their flux


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
    assert len(desk.readings) == 15 and len(desk.entries(Inductance)) == 2
    stage.undo()
    stage.undo()
    assert not desk.readings and not desk.entries(Inductance)


def test_the_inductance_goes_on_to_connection_and_torque_unless_one_is_typed() -> None:
    desk = scratch_desk(("RD", "BU", "WH", "BK", "GN", "YE"))
    stage, found = measured(desk, "wound=M-02&clips=402513")
    assert stage.take_clips(found) == ()
    while (state := stage.work_out()).ask is not None:
        stage.measure(lambda a, b: math.inf, "virtual")  # to the case
    assert "coil A   48.0 ±1.2 Ω, 110 mH to 15%" in state.result
    kept = desk.known.get(Windings)
    assert kept is not None and [coil.henry for coil in kept.coils] == pytest.approx([M_02_HENRY] * 2, rel=0.03)
    assert "110 mH to 15%, by its current's rise" in [known.text for known in state.known]
    desk.keep("ratings", Ratings(current_ampere=0.3, resistance_ohm=24.0))
    assert motor.half_winding_henry(desk.known) == pytest.approx(M_02_HENRY / 4, rel=0.03)
    connection = ConnectionStage(desk)
    answer = connection.answer({"supply": "24 V"})
    assert answer.choice is not None and answer.choice.rows[0].henry == pytest.approx(M_02_HENRY / 4, rel=0.03)
    said = "inductance 28 mH to 15%: by the rise of its current on the clips"
    assert said in answer.notes and not any("not known" in note and "inductance" in note for note in answer.notes)
    typed = connection.answer({"supply": "24 V", "inductance": "20 mH"})
    assert typed.choice is not None and typed.choice.rows[0].henry == 20e-3 and said not in typed.notes
    connection.keep({"supply": "24 V", "take": "half-coil"})
    torque = TorqueCurve(desk).answer({"supply": "24 V"})
    assert torque.figures is not None
    assert torque.figures.inductance_henry == pytest.approx(M_02_HENRY / 4, rel=0.03)
    assert any(said in note for note in torque.notes)


def test_eight_leads_are_paired_once_they_are_named_and_undo_takes_that_back() -> None:
    inside = crate_motor("M-04").windings
    desk = scratch_desk(inside.leads)
    stage, found = measured(desk, "wound=M-04")
    a, b = inside.leads[:2]
    told = replace(found, inductances=(NotTimed(a, b, "too little"), *found.inductances[1:]))
    assert stage.take_clips(told) == (f"inductance {a} – {b} not told: too little",)
    assert len(desk.readings) == 28 and len(desk.entries(Inductance)) == 3
    while not stage.work_out().sure:  # less than an ohm is asked for by hand
        stage.measure(lambda one, other: VirtualCrate().measure("M-04", one, other), "virtual")
    order, places = desk.known.get(Order), inside.places
    assert order is not None and order.done and not order.direction_known and order.halves is not None
    assert all(places[one[0]] == places[other[0]] for one, other in order.halves.values())
    state = OrderStage(desk).state
    assert state.title == "the order is known, but for the direction" and state.others == "find the direction"
    while desk.readings:
        stage.undo()
    assert not desk.entries(HandTest) and Order.stage not in desk.known


def test_which_ends_of_five_leads_share_a_phase_is_told_without_a_hand() -> None:
    inside = crate_motor("M-03").windings
    desk = scratch_desk(inside.leads)
    stage, found = measured(desk, "wound=M-03")
    stage.take_clips(found)
    while not stage.work_out().sure or stage.state.ask is not None:
        stage.measure(lambda a, b: math.inf, "virtual")  # to the case
    order = desk.known.get(Order)
    assert order is not None and order.done and not order.direction_known
    assert all((inside.places[a] - inside.places[b]) % 4 == 2 for a, b in order.phases)


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
