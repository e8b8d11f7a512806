"""The windings without a screen: readings asked, corrected, taken back; what is kept, and as what."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import pytest

from coilbench.board.virtual.crate import VirtualCrate
from coilbench.errors import InputProblem
from coilbench.records.exchange import export_object
from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Windings
from coilbench.stages.demo import open_demo
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.windings.judging import AUTOMATIC_RANGE_OHM, judged, result_of, snapshot_of, windings_of
from coilbench.stages.windings.stage import WindingsStage
from coilbench.stages.windings.words import known_of
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import Ask, Coil, Verdict
from coilbench.winding.readings.reading import FRAME, PROBES, Reading
from tests.support.verdicts import LEADS, ODD, SIX


def test_the_result_is_the_agreed_one() -> None:
    result = result_of(SIX)
    assert list(result) == [
        "arrangement", "confidence", "coils", "common", "spare", "cannot_tell", "faults", "repeat", "next", "order",
        "readings",
    ]  # fmt: skip
    assert result["coils"][0] == {
        "name": "A",
        "ends": ["red", "blue"],
        "tap": "white",
        "ohms": 48.2,
        "ohms_sd": 0.3,
    }
    assert result["coils"][1]["tap"] == "[/x]"
    assert result["next"] is None and result["order"] is None and result["readings"] == 7
    assert json.loads(json.dumps(result, allow_nan=False)) == result


def test_nothing_infinite_reaches_json() -> None:
    dead = Verdict(LEADS[:2], "single-coil-2", 0.9, (Coil("A", ("red", "blue"), None, math.inf, math.nan),))
    coil = result_of(dead)["coils"][0]
    assert coil["ohms"] is None and coil["ohms_sd"] is None


def test_what_to_measure_next_in_json() -> None:
    def said(ask: Ask) -> object:
        return result_of(Verdict(LEADS, "unipolar-6", 0.5, ask=ask))["next"]

    assert said(Ask("red", "blue", "")) == ["red", "blue"]
    assert said(Ask("red", FRAME, "", "frame")) == ["red", "frame"]
    assert said(Ask("red", "blue", "", "range")) == ["red", "blue"]
    assert said(Ask(PROBES, PROBES, "", "probes-together")) == "probes-together"


def test_faults_and_repeats_as_result_of() -> None:
    result = result_of(ODD)
    assert result["faults"] == [{"kind": "open", "leads": ["red", "white"]}]
    assert result["repeat"] == [["red", "blue"]]


FOUR_LEADS = ("RD", "BU", "WH", "BK")


def entered(stage: WindingsStage, *texts: str) -> None:
    for text in texts:
        stage.enter(text)
        stage.work_out()


def begun(*leads: str, **options: Any) -> WindingsStage:
    stage = WindingsStage(scratch_desk(leads or FOUR_LEADS), **options)
    stage.work_out()
    return stage


def measured_out(stage: WindingsStage, crate: VirtualCrate) -> None:
    for _ in range(40):
        if stage.work_out().ask is None:
            return
        stage.measure(lambda a, b: crate.measure(stage.desk.motor, a, b), "the demo's")
    raise AssertionError("still asking after 40 readings")


def test_every_motor_of_the_demo_is_measured_out_and_kept_as_it_is_shown() -> None:
    bin, crate = open_demo()
    with bin:
        for motor in bin.motors():
            stage = WindingsStage(Desk(bin, motor.name))
            measured_out(stage, crate)
            fact = bin.known(motor.name).get(Windings)
            assert fact is not None and fact == windings_of(stage.judged_last)
            assert stage.state.named and stage.state.head.kind in ("answer", "stop")
            before = export_object(bin)
            again = WindingsStage(Desk(bin, motor.name))
            assert again.work_out() == stage.state and again.result() == stage.result()
            assert export_object(bin) == before, "opening a stage writes nothing"


def test_what_a_reading_settled_is_not_settled_without_it() -> None:
    bin, crate = open_demo()
    with bin:
        stage = WindingsStage(Desk(bin, "M-01"))
        measured_out(stage, crate)
        sure = bin.known("M-01").get(Windings)
        while stage.undo() is not None:
            stage.work_out()
        assert sure is not None and bin.known("M-01").get(Windings) is None
        while stage.redo() is not None:
            stage.work_out()
        assert bin.known("M-01").get(Windings) == sure


def test_a_result_saved_as_it_stands_goes_on_with_the_readings() -> None:
    stage = begun()
    entered(stage, "2.5")
    assert stage.desk.known.get(Windings) is None
    stage.finish()
    first = stage.desk.known.get(Windings)
    assert first is not None and first.readings == 1 and first.next is not None
    entered(stage, "OL")
    second = stage.desk.known.get(Windings)
    assert second is not None and second.readings == 2


def test_a_result_of_no_readings_here_is_not_replaced_by_the_first_of_them() -> None:
    stage = begun()
    stage.desk.keep("windings", windings_of(replace(SIX, readings=0)))
    entered(stage, "2.5")
    found = stage.desk.known.get(Windings)
    assert found is not None and found.arrangement == "unipolar-6"


def test_correcting_and_picking_are_left_by_a_skip_and_by_an_entry() -> None:
    stage = begun()
    asked = stage.ask
    entered(stage, "12R3")
    row = stage.state.rows[0]
    assert (row.number, row.ohms) == (1, "12.3 Ω")
    stage.correct(row.id)
    assert stage.state.correcting and stage.ask is not None and asked is not None
    assert {stage.ask.a, stage.ask.b} == {asked.a, asked.b} and "it says 12.3 Ω" in stage.ask.why
    stage.skip()
    assert not stage.state.correcting
    stage.correct(row.id)
    entered(stage, "2,6")
    assert stage.state.rows[0].ohms == "2.6 Ω" and len(stage.state.rows) == 1
    stage.pick("RD", "BK")
    assert stage.ask == Ask("RD", "BK", "you picked this pair")
    stage.pick(FRAME, "RD")
    assert stage.ask is not None and (stage.ask.a, stage.ask.b, stage.ask.kind) == ("RD", FRAME, "frame")
    stage.pick(PROBES, PROBES)
    assert stage.ask.kind == "probes-together"
    with pytest.raises(InputProblem, match="against each other"):
        stage.pick("RD", "RD")
    with pytest.raises(InputProblem):
        stage.enter("1xx")
    assert stage.ask.kind == "probes-together", "what is no reading changes nothing"


def test_a_skipped_pair_is_not_asked_again() -> None:
    stage, seen = begun(), set()
    while (ask := stage.work_out().ask) is not None:
        assert frozenset((ask.a, ask.b)) not in seen
        seen.add(frozenset((ask.a, ask.b)))
        stage.skip()
    assert len(seen) >= 6


def test_the_range_is_asked_once_of_nothing_but_open_readings() -> None:
    stage = begun(*FOUR_LEADS, "GN", "YE")
    entered(stage, "OL", "OL", "OL")
    assert stage.state.ask is not None and stage.state.ask.kind == "meter-range"
    entered(stage, "200")
    assert {one.range_ohm for one in stage.desk.readings} == {200.0}
    assert stage.state.ask is not None and stage.state.ask.kind == "range"  # the same pair, one range higher
    entered(stage, "400")
    assert stage.desk.readings[-1].range_ohm is None


def test_a_meter_that_finds_its_range_is_judged_as_if_nothing_was_said() -> None:
    stage = begun()
    entered(stage, "OL", "OL", "OL")
    before = stage.judged_last
    entered(stage, "auto")
    assert {one.range_ohm for one in stage.desk.readings} == {AUTOMATIC_RANGE_OHM}
    assert stage.judged_last == before
    silent = begun(asks_range=False)
    entered(silent, "OL", "OL", "OL")
    assert silent.state.ask is not None and silent.state.ask.kind != "meter-range"


def test_the_meter_that_was_stated_is_kept_and_used_by_whoever_opens_the_motor() -> None:
    readings = [Reading("RD", "BU", 2.4), Reading("WH", "BK", 2.7), Reading("RD", "WH", math.inf)]
    stage = begun(meter="5% + 10 counts of 0.1 ohm")
    stage.load(readings)
    stage.work_out()
    again = WindingsStage(stage.desk)
    assert again.work_out().wiring.verdict == stage.judged_last
    plain_meter = begun()
    plain_meter.load(readings)
    plain_meter.work_out()
    assert plain_meter.judged_last.confidence != stage.judged_last.confidence
    stage.desk.add_reading(Reading("RD", "BK", math.inf), meter="the demo's")  # a name states no accuracy
    later = judged(snapshot_of(stage.desk))
    assert later == judged(snapshot_of(stage.desk, meter="5% + 10 counts of 0.1 ohm"))


def test_the_result_has_the_order_once_it_is_known() -> None:
    stage = begun()
    assert stage.result()["order"] is None
    stage.desk.keep("order", Order(sequence=("RD", "WH", "BU", "BK"), done=True))
    assert stage.result()["order"] == ["RD", "WH", "BU", "BK"]


def test_the_figures_name_what_they_are_of_and_none_outbids_another() -> None:
    leads = ("RD", "BU", "WH", "GN", "BK", "YE")
    verdict = judge(leads, [Reading("RD", "BU", 48.6), Reading("RD", "GN", math.inf)])
    lines = known_of(verdict)
    known = dict(lines)
    assert known["likely"].startswith("unipolar-6 (") and known["all leads"].endswith("confidence")
    assert verdict.kind_confidence is not None and verdict.kind_confidence >= verdict.confidence
    others = [line.text for line in lines if line.label in ("perhaps", "or")]
    assert others and not any("%" in text for text in others)
