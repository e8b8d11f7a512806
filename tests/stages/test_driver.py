"""The driver without a screen: what is set, what is refused, what is kept and there again, undo."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.errors import CoilbenchError, InputProblem, NotEnoughKnown
from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.desk import scratch_desk
from coilbench.stages.driver.chips import marking
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.to_do import as_markdown
from tests.support.motors import FIVE, FOUR, SIX

CONNECTED = Connection(
    connection="bipolar",
    current_ampere=0.8,
    resistance_ohm=12.0,
    inductance_henry=9e-3,
    typed={"driver": "drv8825", "supply": "24"},
)


def stage_of(*facts: Fact) -> DriverStage:
    desk = scratch_desk(("RD", "BU", "GN", "BK"))
    for fact in facts:
        desk.keep(fact.stage, fact)
    return DriverStage(desk)


@pytest.fixture
def stage() -> DriverStage:
    return stage_of(FOUR, CONNECTED)


def kept(stage: DriverStage) -> Driver:
    found = stage.desk.known.get(Driver)
    assert found is not None
    return found


def test_the_driver_typed_for_the_connection_is_not_asked_again(stage: DriverStage) -> None:
    assert {name: text for name, text in stage.texts().items() if text} == {
        "chip": "DRV8825", "supply": "24 V", "current": "0.8 A"
    }  # fmt: skip


def test_a_known_current_reads_in_three_figures_and_is_set_to_the_last() -> None:
    stage = stage_of(FOUR, replace(CONNECTED, current_ampere=0.843614))
    texts = {**stage.texts(), "chip": "A4988", "sense": "R100"}
    assert texts["current"] == "0.844 A"
    stage.keep(texts)
    assert kept(stage).peak_ampere == pytest.approx(0.843614, abs=1e-6) and "current" not in kept(stage).typed


def test_the_sense_resistor_is_never_guessed(stage: DriverStage) -> None:
    with pytest.raises(NotEnoughKnown, match="sense resistor"):
        stage.keep({**stage.texts(), "chip": "A4988"})
    answer = stage.keep({**stage.texts(), "chip": "A4988", "sense": "R100"})
    assert answer.headline == "VREF 0.64 V for 0.8 A peak" and kept(stage).vref_volt == pytest.approx(0.64)


def test_another_chip_is_taken_back_with_undo(stage: DriverStage) -> None:
    stage.keep({**stage.texts(), "chip": "A4988", "sense": "R100"})
    stage.keep({**stage.texts(), "chip": "DRV8825", "sense": "R100"})
    stage.undo()
    assert kept(stage).chip == "A4988" and stage.texts()["chip"] == "A4988"
    stage.redo()
    assert kept(stage).chip == "DRV8825"


def test_a_measured_reference_says_the_current_and_stays_what_was_typed(stage: DriverStage) -> None:
    stage.keep({**stage.texts(), "sense": "R100", "measured": "400 mV", "current": ""})
    assert kept(stage).peak_ampere == pytest.approx(0.8)
    assert stage.texts()["measured"] == "400 mV" and stage.texts()["current"] == ""


def test_a_current_that_was_not_typed_follows_the_connection(stage: DriverStage) -> None:
    stage.keep({**stage.texts(), "chip": "A4988", "sense": "R100"})
    stage.desk.keep("connection", replace(CONNECTED, current_ampere=0.5))
    assert stage.texts()["current"] == "0.5 A"
    stage.keep({**stage.texts(), "current": "0.3 A"})
    stage.desk.keep("connection", replace(CONNECTED, current_ampere=0.6))
    assert stage.texts()["current"] == "0.3 A"


def test_full_step_sets_the_rated_current_in_each_coil_and_comes_back(stage: DriverStage) -> None:
    stage.keep({**stage.texts(), "chip": "DRV8825", "sense": "R100", "steps": "full"})
    before = kept(stage)
    assert before.microsteps == 1 and before.peak_ampere == pytest.approx(0.8 / 0.71, rel=1e-4)
    assert stage.texts()["current"] == "0.8 A" and stage.texts()["steps"] == "full"
    stage.keep(stage.texts())
    assert kept(stage) == before


@pytest.mark.parametrize(("microsteps", "steps", "current"), [(16, "16", "0.8 A"), (1, "full", "0.5657 A")])
def test_a_setting_kept_without_its_fields_has_them_from_its_figures(
    stage: DriverStage, microsteps: int, steps: str, current: str
) -> None:
    stage.desk.keep("driver", Driver(chip="A4988", sense_ohm=0.1, peak_ampere=0.8, microsteps=microsteps))
    texts = stage.texts()
    assert (texts["chip"], texts["sense"], texts["current"], texts["steps"]) == ("A4988", "0.1 Ω", current, steps)
    assert stage.answer(texts).as_json()["peak_amp"] == pytest.approx(0.8, rel=1e-3)


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"chip": ""}, "no chip named"),
        ({"sense": "100"}, "100 ohm"),
        ({"sense": "4k7"}, "not a sense resistor"),
        ({"current": "50 A"}, "1 mA to 20 A"),
        ({"current": "1 V"}, "peak: '1 V'"),
        ({"supply": "12 A"}, "supply: '12 A'"),
        ({"steps": "many"}, "whole number of 1 to 256"),
        ({"torque": "150%"}, "over 100 %"),
        ({"air": "200 C"}, "-60 to 150 °C"),
        ({"sink": "big"}, "expected yes, no, or its figure"),
        ({"series": "ends"}, "names no ohms"),
        ({"series": "fifteen"}, "then common or ends"),
        ({"clamp": "rope"}, "expected diode, or a zener"),
        ({"clamp": "24 A"}, "expected diode, or a zener"),
        ({"gain": "8"}, "leave out --gain"),
        ({"gain": "five", "chip": "XY1"}, "not a number"),
    ],
)
def test_what_cannot_be_used_is_said_and_not_kept(stage: DriverStage, texts: dict[str, str], said: str) -> None:
    with pytest.raises(CoilbenchError, match=said):
        stage.keep({**stage.texts(), "chip": "A4988", "sense": "R100", **texts})
    assert "driver" not in stage.desk.known


def test_what_to_do_names_leads_and_pins_and_can_be_ticked_on_paper() -> None:
    wires = ("A+: RD", "A-: BU", "B+: GN", "B-: BK")
    stage = stage_of(FOUR, replace(CONNECTED, wiring=wires))
    answer = stage.answer({**stage.texts(), "chip": "A4988", "sense": "R100", "steps": "8"})
    acts = [each.act for each in answer.tasks]
    assert any("connect the motor: A+: RD; A-: BU; B+: GN; B-: BK" in act for act in acts)
    assert any("1/8 step: MS1 high, MS2 high, MS3 low" in act for act in acts)
    assert answer.to_do[1][0] == f"[ ] 1. {acts[0]}"
    page = as_markdown("M-20 <b>", answer.tasks, {answer.tasks[0]})
    assert page.startswith("## M-20 \\<b\\>\n\n- [x] ") and page.count("- [ ] ") == len(acts) - 1
    stopped = stage.answer({**stage.texts(), "chip": "A4988", "sense": "R068", "current": "5 A"})
    assert stopped.tasks == ()


def test_without_a_current_the_motor_is_rated_first() -> None:
    stage = stage_of(FOUR)
    with pytest.raises(NotEnoughKnown, match="rate the motor first"):
        stage.answer({"chip": "A4988", "sense": "R100"})


def test_a_setting_that_says_stop_is_told_and_not_kept(stage: DriverStage) -> None:
    texts = {**stage.texts(), "chip": "A4988", "sense": "R068", "current": "5 A"}
    answer = stage.answer(texts)
    assert not answer.can_be_set and answer.headline.startswith("stop: not VREF 2.72 V")
    assert "instead" in answer.to_do[0] and answer.known[0].label == "stop"
    with pytest.raises(InputProblem, match="not kept with"):
        stage.keep(texts)
    assert "driver" not in stage.desk.known


def test_figures_of_one_half_winding_are_told_from_those_of_a_connection() -> None:
    stage = stage_of(SIX, Ratings(current_ampere=0.4, resistance_ohm=24.0))
    texts = {**stage.texts(), "chip": "A4988", "sense": "R100"}
    assert any("connection" in line for line in stage.answer(texts).findings)
    assert not any("choose the connection" in line for line in stage.answer({**texts, "current": "0.3 A"}).findings)


FEEDER = Connection(connection="unipolar", current_ampere=0.2, resistance_ohm=30.0)


def test_the_resistor_fitted_is_typed_and_kept() -> None:
    stage = stage_of(FIVE, FEEDER)
    texts = {**stage.texts(), "chip": "ULN2003A", "supply": "13 V"}
    with pytest.raises(InputProblem, match="in the one common lead"):
        stage.keep(texts)
    assert stage.keep({**texts, "series": "15"}).headline == "nothing to set: 0.2 A a coil"
    assert stage.texts()["series"] == "15"
    assert stage.summary(stage.desk.known)[0].text == "ULN2003A 0.2 A a coil"
    in_ends = stage.answer({**texts, "series": "30 ohm ends"})
    assert in_ends.can_be_set and in_ends.headline == "nothing to set: 0.2 A a coil"
    assert stage.answer({**texts, "series": "15 ohm in the common"}).headline == "nothing to set: 0.2 A a coil"


def test_a_label_says_what_the_motor_is_made_for() -> None:
    label = Intake(label="12V 75 ohm")
    rated = Ratings(current_ampere=0.09, high_ampere=0.17, resistance_ohm=75.0)
    stage = stage_of(FIVE, label, rated)
    texts = {**stage.texts(), "chip": "ULN2003A", "supply": "12"}
    assert stage.answer(texts).can_be_set
    # A voltage that would drive more than the body stands is the supply's: a hybrid of 3 ohm.
    other = stage_of(FIVE, label, Ratings(current_ampere=0.9, high_ampere=1.2, resistance_ohm=3.0))
    assert not other.answer(texts).can_be_set


def test_the_one_to_set_has_its_reason(stage: DriverStage) -> None:
    texts = {**stage.texts(), "chip": "A4988", "sense": "R100"}
    assert stage.answer(texts).reason.startswith("its rating, 0.8 A RMS, taken as the peak")
    assert stage.answer({**texts, "current": "0.5"}).reason == "0.5 A peak was asked"
    assert "0.8 A RMS was asked" in stage.answer({**texts, "rms": "yes"}).reason
    assert stage.answer({**texts, "measured": "0.4"}).reason == "what is set now comes to 0.5 A peak"
    full = {**texts, "chip": "DRV8825", "steps": "full"}
    assert stage.answer(full).reason == "full step then puts 0.8 A into each coil"


def test_a_driver_that_carries_less_than_the_rating_gives_the_reason() -> None:
    rated = Ratings(current_ampere=1.5, resistance_ohm=2.4)
    carried = Connection(connection="bipolar", current_ampere=1.0, resistance_ohm=2.4)
    stage = stage_of(FOUR, rated, carried)
    answer = stage.answer({**stage.texts(), "chip": "A4988", "sense": "R100"})
    assert answer.headline == "VREF 0.8 V for 1 A peak"
    assert answer.reason == "what a bare A4988 board carries; the motor's rating is 1.5 A RMS"
    assert answer.as_json()["equal_heat"] is None  # nor is there more to be had


@pytest.mark.parametrize("chosen", ["", "TMC2209"])
def test_a_motors_own_current_is_no_more_than_its_driver_carries(chosen: str) -> None:
    stage = stage_of(FOUR, Ratings(current_ampere=1.9, resistance_ohm=1.1))
    if chosen:  # for a driver that carries more; now it hangs on another
        stage.desk.keep("connection", Connection(connection="bipolar", current_ampere=1.65, resistance_ohm=1.1))
    texts = {**stage.with_chip(stage.texts(), "A4988"), "sense": "R100", "supply": "24V"}
    assert texts["current"] == "1 A"
    answer = stage.answer(texts)
    assert answer.headline == "VREF 0.8 V for 1 A peak"
    assert answer.reason == "what a bare A4988 board carries; the motor's rating is 1.9 A RMS"
    assert not any("without cooling" in line for line in answer.findings)
    full = stage.answer({**texts, "steps": "full"})
    assert full.headline == "VREF 0.8 V for 1 A peak" and full.reason == answer.reason
    cooled = stage.answer({**texts, "sink": "yes"})
    assert not cooled.judgement.stops and cooled.situation.setting.peak_ampere > 1.2
    whose = "the driver that its connection was chosen for" if chosen else "the A4988 board with that heat sink"
    assert cooled.reason == f"what {whose} carries; the motor's rating is 1.9 A RMS"
    asked = stage.answer({**texts, "current": "1.2"})
    assert asked.headline == "VREF 0.96 V for 1.2 A peak" and asked.reason == "1.2 A peak was asked"
    stronger = stage.with_chip(texts, "TB6600HG")
    assert stronger["current"] == "1.59 A"


def test_the_rating_counts_as_connected() -> None:
    stage = stage_of(SIX, Ratings(current_ampere=0.4, resistance_ohm=24.0))
    stage.desk.keep("connection", Connection(connection="series", current_ampere=0.2828, resistance_ohm=48.0))
    remark = stage.answer({**stage.texts(), "chip": "A4988", "sense": "R100"}).as_json()["equal_heat"]
    assert remark["peak_amp"] == pytest.approx(0.4, rel=1e-3)  # 0.4 A a half is 0.283 A in series, RMS


@pytest.mark.parametrize("clamp", ["24", "24 V", "zener 24V", "a zener of 24 V"])
def test_a_zener_is_typed_as_one_says_it(clamp: str) -> None:
    stage = stage_of(FIVE, replace(FEEDER, inductance_henry=20e-3))
    texts = {**stage.texts(), "chip": "ULN2003A", "supply": "6", "clamp": clamp}
    assert any("against a zener of 24 V" in line for line in stage.answer(texts).findings)
    assert any("for speed, a zener" in line for line in stage.answer({**texts, "clamp": "diode"}).findings)


def test_a_heat_sink_is_typed(stage: DriverStage) -> None:
    texts = {**stage.texts(), "chip": "A4988", "sense": "R100", "current": "1.2"}
    assert any("without cooling" in line for line in stage.answer(texts).findings)
    for sink in ("yes", "15 K/W", "15"):
        assert not any("without cooling" in line for line in stage.answer({**texts, "sink": sink}).findings)
    assert any("without cooling" in line for line in stage.answer({**texts, "sink": "no"}).findings)


def test_a_chip_by_its_gain_is_kept_with_it(stage: DriverStage) -> None:
    stage.keep({**stage.texts(), "chip": "XY1", "gain": "5", "sense": "R100"})
    assert kept(stage).chip == "XY1" and kept(stage).vref_volt == pytest.approx(0.4)
    assert stage.answer(stage.texts()).as_json()["vref_volt"] == pytest.approx(0.4)


def test_markings() -> None:
    # IEC 60062: the letter stands where the point is.
    assert [marking(ohm) for ohm in (0.1, 0.068, 0.05, 0.11, 1.0, 0.22)] == [
        *("R100", "R068", "R050", "R110", "1R00", "R220")
    ]
