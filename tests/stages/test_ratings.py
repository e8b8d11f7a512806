"""The ratings without a screen: what counts, what is kept where, the hot soak entry by entry."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.errors import CoilbenchError, Fault, InputProblem, NotEnoughKnown
from coilbench.records.saved.base import Fact
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings, SoakEntry
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.form import FieldProblem, Missing
from coilbench.stages.ratings.answer import RatingsAnswer
from coilbench.stages.ratings.fields import BY_ID
from coilbench.stages.ratings.soak import OffClock
from coilbench.stages.ratings.stage import RatingsStage
from tests.support.motors import FOUR, SIX

LEADS = "RD WH BU GN YE BK"
FACE = Intake(frame="NEMA 17", length_metre=0.04)


def desk_with(*facts: Fact) -> Desk:
    desk = scratch_desk(LEADS.split())
    for fact in facts:
        desk.keep(fact.stage, fact)
    return desk


def answer(*facts: Fact, **texts: str) -> RatingsAnswer:
    stage = RatingsStage(desk_with(*facts))
    return stage.answer({**stage.texts(), **texts})


def estimate(found: RatingsAnswer) -> float:
    assert found.rating is not None
    return found.rating.estimate_ampere


def kept(desk: Desk) -> Ratings:
    found = desk.known.get(Ratings)
    assert found is not None
    return found


def intake(desk: Desk) -> Intake:
    return desk.known.get(Intake) or Intake()


# What counts


def test_size_comes_from_the_other_stages() -> None:
    # Wantai: 42BYGHW series, maker's table of 2024-11-19: 42BYGHW602, 40 mm, 30 ohm, six leads, 0.4 A.
    thirty = Windings(
        arrangement="unipolar-6", confidence=0.99, coils=(Coil(name="A", ends=("RD", "BU"), tap="WH", ohms=60.0),)
    )
    desk = desk_with(thirty, Intake(frame="NEMA 17", length_metre=0.04, label="1.8 DEG"))
    stage = RatingsStage(desk)
    assert stage.texts()["coil"] == "30 ohm"  # per half-winding
    stage.keep(stage.texts())
    rated = kept(desk)
    assert rated.estimate_ampere == pytest.approx(0.4, rel=0.15)
    assert rated.current_ampere and rated.current_ampere < rated.estimate_ampere  # type: ignore[operator]
    assert rated.step_angle_degree == 1.8 and rated.resistance_ohm == 30.0
    assert "half-winding" in stage.answer(stage.texts()).convention


def test_a_cold_room_is_told_to_the_rating() -> None:
    warm, cold = (answer(FACE, coil="2 ohm", room=room).rating for room in ("25 °C", "5 C"))
    assert warm is not None and cold is not None
    # The same ohms in a colder room are more at 25 C: by copper's 240 to 260, so less current.
    # What makers wind for goes by the ohms as well, so not to the last digit.
    assert cold.estimate_ampere / warm.estimate_ampere == pytest.approx((240 / 260) ** 0.5, rel=0.01)


def test_cold_and_hot_ohms_with_a_frame_give_a_rating_without_the_probes() -> None:
    found = answer(FACE, cold="2.2", hot="2.8", probes="0.2")
    assert estimate(found) == estimate(answer(FACE, coil="2 ohm"))
    assert found.soak is not None and not found.soak_alone


def test_a_soak_without_a_rise_is_said_and_leaves_the_rating_by_size() -> None:
    found = answer(FACE, coil="2.8", cold="2.8", hot="2.8", run="0.5 A", probes="0")
    assert estimate(found) == estimate(answer(FACE, coil="2.8"))
    assert found.soak is not None and found.soak.current_ampere is None
    assert any("no rise to be seen" in note for note in found.notes)


def test_a_soak_with_its_current_rates_the_motor_by_itself() -> None:
    found = answer(cold="2.8", hot="3.6", run="1 A", probes="0")
    assert found.soak is not None and found.soak.result.winding_celsius == pytest.approx(99.29, abs=0.01)
    assert estimate(found) == pytest.approx(1.03, abs=0.01)
    assert found.can_keep and found.soak_alone and found.rating is not None and found.rating.coil_ohm == 2.8
    alone = answer(cold="2.8", hot="3.6")
    assert alone.soak is not None and not alone.can_keep


@pytest.mark.parametrize("run", ["1 A peak", "1 A  PEAK", "1000 mA peak"])
def test_a_current_may_say_which_it_is(run: str) -> None:
    stage, _ = soaking()
    assert stage.readable("run", run) and not stage.readable("run", "1 A top") and stage.readable("run", "")
    found = answer(cold="28", hot="36", run=run, probes="0").soak
    assert found is not None and found.run is not None and found.run.told
    assert found.run.ampere == pytest.approx(0.707, abs=1e-3)
    again = answer(cold="28", hot="36", run=run, counted="Peak", probes="0").soak
    assert again is not None and again.run == found.run
    with pytest.raises(FieldProblem, match="not both"):
        answer(cold="28", hot="36", run=run, counted="RMS")


def test_ohms_of_the_windings_are_no_cold_reading_of_a_soak() -> None:
    found = answer(FOUR, FACE, hot="3.6")  # 2.4 ohm without, 3.6 ohm with the probes
    assert found.soak is None and found.missing.fields == ("cold",) and found.rating is not None
    assert answer(FACE, coil="2.8", hot="3.6").soak is not None  # typed beside the hot one


@pytest.mark.parametrize(
    ("texts", "wanted"),
    [
        ({"cold": "2.8"}, ("hot", "after")),
        ({"hot": "3.6"}, ("cold",)),
        ({"volts": "5 V", "drill": "300"}, ("step",)),
        ({"volts": "5 V", "step": "1.8"}, ("hertz", "drill")),
        ({"hertz": "400"}, ("volts",)),
        ({"henry": "2 ms"}, ("coil",)),
        ({}, ("coil", "label")),
        ({"face": "17"}, ("coil", "label")),
    ],
)
def test_what_has_been_begun_says_what_it_needs(texts: dict[str, str], wanted: tuple[str, ...]) -> None:
    found = answer(**texts)
    assert found.says_nothing and found.missing.fields == wanted
    if "henry" not in texts:  # with the coil's ohms it is complete
        beside = answer(coil="2 ohm", **texts)
        assert beside.rating is not None and not beside.says_nothing


def test_forms_together() -> None:
    found = answer(coil="2 ohm", face="17", length="40", henry="2 ms", step="1.8")
    assert found.rating is not None and found.rating.inductance_henry == pytest.approx(0.004)
    assert found.drill_limit_rpm == pytest.approx(480)
    assert found.spin_lines == ("400 Hz meter: under 480 rpm",)
    assert answer(step="1.8", limit="1 kHz").drill_limit_rpm == pytest.approx(1200)
    spun = answer(step="1.8 deg", volts="7.17", drill="522")
    assert spun.rating is None and spun.spin is not None
    # 10.1 V peak at 8.7 turns a second, 0.44 N.m, 1.68 A (weak: a motion hardware maker's wiki).
    assert spun.spin.holding_torque(1.68) == pytest.approx(0.44, rel=0.02)


@pytest.mark.parametrize("speed", ["hertz", "drill"])
def test_the_examples_of_a_spun_shaft_lie_within_a_meters_range(speed: str) -> None:
    found = answer(**{each: BY_ID[each].hint for each in ("step", "volts", speed)})
    assert found.spin is not None and found.spin.cycle_hertz == pytest.approx(350)
    assert not found.spin.notes


def test_steps_are_counted_over_turns() -> None:
    assert answer(step="48 steps").step_angle_degree == 7.5
    miscounted = answer(step="1999 steps in 10 turns")
    assert miscounted.step_angle_degree == 1.8 and any("count again" in note for note in miscounted.notes)


def test_the_label_of_the_intake_may_say_nothing_and_a_typed_one_must() -> None:
    assert answer(FACE, Intake(frame="NEMA 17", label="PX243M-01AA"), coil="2").rating is not None
    with pytest.raises(InputProblem, match="MADE IN"):
        answer(FACE, coil="2", label="MADE IN")


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("henry", "3 V", "inductance: '3 V'"),
        ("rise", "800 K", "expected 5 to 125 K"),
        ("room", "150 C", "room's temperature"),
        ("step", "nan steps", "whole number of steps"),
        ("step", "200 steps in 0 turns", "turns above zero"),
        ("leads", "7", "4, 5, 6 or 8"),
        ("detents", "rough", "none, soft, firm"),
        ("coil", "1.5 V", "cold ohms: '1.5 V'"),
    ],
)
def test_what_can_not_be_read_is_said_of_its_field(field: str, text: str, said: str) -> None:
    with pytest.raises(FieldProblem, match=said) as caught:
        answer(FACE, **{"coil": "2 ohm", field: text})
    assert caught.value.field == field


@pytest.mark.parametrize(
    ("texts", "said"),
    [
        ({"probes": "-1"}, "zero or more"),
        ({"constant": "236"}, "iec, ieee, 235, 234.5"),
        ({"after": "30s"}, "time and ohms"),
        ({"cold": "4"}, "copper rises when warm"),
    ],
)
def test_a_soak_that_can_not_be_is_refused(texts: dict[str, str], said: str) -> None:
    with pytest.raises(InputProblem, match=said):
        answer(**{"cold": "2.8", "hot": "3.6", **texts})


def test_a_motor_that_leaks_is_not_rated() -> None:
    leaks = Windings(arrangement="split-8", confidence=0.99, faults=(WindingFault(kind="frame", leads=("RD",)),))
    with pytest.raises(Fault, match="do not power"):
        answer(leaks, FACE, coil="2")


# What is kept


def test_what_belongs_to_the_intake_is_kept_there_in_one_act() -> None:
    desk = desk_with(Intake(frame="NEMA 17", diameter_metre=0.042, label="1.8 DEG"))
    stage = RatingsStage(desk)
    typed = {**stage.texts(), "face": "35 mm can", "length": "17", "coil": "50", "step": "48 steps"}
    stage.keep(typed)
    found = intake(desk)
    assert found.frame is None and found.diameter_metre == pytest.approx(0.035)
    assert found.length_metre == pytest.approx(0.017) and found.step_angle_degree == 7.5 and found.label == "1.8 DEG"
    again = RatingsStage(desk).texts()
    assert {name: again[name] for name in ("face", "length", "step")} == {
        "face": "35 mm can",
        "length": "17",
        "step": "48 steps",
    }
    stage.undo()
    assert intake(desk) == Intake(frame="NEMA 17", diameter_metre=0.042, label="1.8 DEG")
    assert desk.known.get(Ratings) is None


def test_the_intake_corrected_later_counts() -> None:
    desk = desk_with()
    stage = RatingsStage(desk)
    stage.keep({**stage.texts(), "face": "17", "length": "40", "step": "200 steps", "coil": "2"})
    desk.keep("intake", Intake(frame="NEMA 23", length_metre=0.056, step_angle_degree=0.9))
    texts = stage.texts()
    assert (texts["face"], texts["length"], texts["step"]) == ("NEMA 23", "56 mm", "0.9 deg")


def test_a_frame_in_words_alone_leaves_its_diameter_to_speak_and_is_not_touched() -> None:
    desk = desk_with(Intake(frame="tin can", diameter_metre=0.035))
    stage = RatingsStage(desk)
    assert stage.texts()["face"] == "35 mm can"
    stage.keep({**stage.texts(), "coil": "50"})
    assert intake(desk) == Intake(frame="tin can", diameter_metre=0.035)
    odd = RatingsStage(desk_with(Intake(frame="odd")))
    assert odd.texts()["face"] == ""
    odd.keep({**odd.texts(), "coil": "50"})
    assert intake(odd.desk) == Intake(frame="odd")


def test_ohms_measured_anew_count_unless_others_were_typed() -> None:
    desk = desk_with(SIX, FACE)
    stage = RatingsStage(desk)
    stage.keep(stage.texts())
    desk.keep("windings", FOUR)
    assert stage.texts()["coil"] == "2.4 ohm"
    stage.keep({**stage.texts(), "coil": "2.5"})
    desk.keep("windings", SIX)
    assert stage.texts()["coil"] == "2.5"
    stage.keep({**stage.texts(), "coil": ""} | {"label": "4 V 1.2 A"})
    assert stage.texts()["coil"] == "" and kept(desk).resistance_ohm is None


def test_a_rating_of_an_earlier_version_that_kept_no_texts() -> None:
    desk = desk_with(
        FACE, Ratings(current_ampere=1.0, resistance_ohm=2.0, inductance_henry=0.003, step_angle_degree=1.8)
    )
    texts = RatingsStage(desk).texts()
    assert (texts["coil"], texts["henry"], texts["step"]) == ("2 ohm", "3 mH", "1.8 deg")


TYPED = {
    "face": ["", "17", "35 mm can", "42 mm"],
    "diameter": ["", "36"],
    "length": ["", "40", "1.5 in"],
    "coil": ["", "24.1 ohm", "2R0", "30"],
    "rise": ["", "60"],
    "henry": ["", "3 mH", "2 ms"],
    "probes": ["", "0.2"],
    "cold": ["", "2.8", "24.1 ohm"],
    "room": ["", "5", "-3 C"],
    "run": ["", "0.5"],
    "hot": ["", "3.6", "2.8"],
    "after": ["", "30s:3.55,60s:3.5"],
    "step": ["", "1.8", "199 steps", "1.8 deg"],
    "volts": ["", "7.2"],
    "hertz": ["", "435"],
    "drill": ["", "520"],
    "label": ["", "1.8 DEG 1.2 A", "12V", "PX243"],
    "leads": ["", "6"],
}
BEFORE: list[tuple[Fact, ...]] = [
    (),
    (SIX,),
    (FACE,),
    (SIX, Intake(diameter_metre=0.0401234567, step_angle_degree=0.9, label="12V 75 ohm")),
    (Intake(frame="tin can", length_metre=1.5 * 0.0254), Ratings(inductance_henry=0.0031, step_angle_degree=7.5)),
]


@settings(deadline=None)
@given(
    facts=st.sampled_from(BEFORE),
    typed=st.dictionaries(st.sampled_from(list(TYPED)), st.integers(0, 3), max_size=8),
)
def test_what_is_kept_is_there_again_and_comes_to_the_same(facts: tuple[Fact, ...], typed: dict[str, int]) -> None:
    stage = RatingsStage(desk_with(*facts))
    texts = stage.texts() | {name: TYPED[name][number % len(TYPED[name])] for name, number in typed.items()}
    try:
        found = stage.keep(texts)
    except CoilbenchError:
        return
    again = RatingsStage(stage.desk)
    texts_again = again.texts()
    assert again.answer(texts_again).rating == found.rating
    assert {name: texts_again[name] for name in typed if name not in ("face", "diameter")} == {
        name: texts[name] for name in typed if name not in ("face", "diameter")
    }
    before = stage.desk.known
    again.keep(texts_again)
    assert again.desk.known == before


def test_nothing_to_keep_says_what_is_needed() -> None:
    stage = RatingsStage(desk_with())
    with pytest.raises(Missing, match="cold ohms"):
        stage.keep({**stage.texts(), "rise": "60"})
    assert stage.desk.known.get(Ratings) is None


# The temperature-rise test


class Time:
    """Seconds, as one sets them."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


def soaking() -> tuple[RatingsStage, Time]:
    time = Time()
    return RatingsStage(desk_with(FACE), OffClock(time)), time


def test_the_clock_puts_seconds_to_cooling_readings() -> None:
    stage, time = soaking()
    with pytest.raises(InputProblem, match="off now"):
        stage.cool("35.6")
    stage.keep_entries({"cold": "28.0", "run": "0.4 A", "probes": "0"})
    stage.switch_off()
    for second, ohm in ((20, "35,6"), (50, "35.1"), (80, " 34.6 ")):
        time.now = 1000.0 + second
        stage.cool(ohm)
    texts = stage.texts()
    assert texts["after"] == "20s:35,6; 50s:35.1; 80s:34.6"
    # The line back ends at 35.96 ohm, 28 ohm at 25 C: 99 C. The winding was somewhat hotter, 20 s before.
    found = stage.answer(texts)
    assert found.soak is not None and 99 < found.soak.result.winding_celsius < 104
    for wrong in ("OL", "warm", "0"):
        with pytest.raises(InputProblem):
            stage.cool(wrong)
    assert len(stage.desk.entries(SoakEntry)) == 7
    time.now += 3600
    assert stage.second_since_off is None  # it is cold again


def test_entries_are_kept_at_once_taken_back_and_done_again() -> None:
    stage, time = soaking()
    assert stage.keep_entries({"probes": "0.2", "cold": "2.8", "hot": "3.x", "rise": "60 K"})
    assert not stage.keep_entries({"probes": "0.2", "cold": " 2.8 "})
    assert [(each.value.soak, each.value.text) for each in stage.desk.entries(SoakEntry)] == [
        ("probes", "0.2"),
        ("cold", "2.8"),
    ]
    stage.switch_off()
    time.now += 1.0
    stage.cool("3.6")
    again = RatingsStage(stage.desk, OffClock(time))
    assert again.texts()["after"] == "1s:3.6" and again.second_since_off is not None
    again.undo()
    assert again.texts()["after"] == ""
    again.redo()
    assert again.texts()["after"] == "1s:3.6"


def test_a_kept_rating_ends_a_soak_and_another_one_begins_empty() -> None:
    stage, _ = soaking()
    stage.keep_entries({"cold": "2.8", "hot": "3.6", "probes": "0"})
    stage.keep({**stage.texts(), "run": "1 A"})
    saved = kept(stage.desk)
    assert saved.soak is not None and saved.soak.thermal_class == "E"
    assert saved.soak_entries == 3 and saved.typed["cold"] == "2.8"
    stage.switch_off()
    assert stage.texts()["hot"] == "" and stage.texts()["cold"] == "2.8"
    stage.undo()
    assert stage.texts()["hot"] == "3.6"
    stage.undo()  # the rating itself: the entries are at work again
    assert stage.desk.known.get(Ratings) is None
    assert stage.texts()["cold"] == "2.8" and stage.texts()["run"] == ""
    stage.undo()
    assert stage.texts()["probes" if stage.texts()["probes"] == "" else "hot"] == ""


def test_no_rise_is_no_reason_to_refuse_the_whole() -> None:
    with pytest.raises(NotEnoughKnown):
        RatingsStage(desk_with()).keep({"cold": "2.8", "hot": "2.8", "run": "1 A"})


def test_every_field_has_help() -> None:
    shown = [field for field in RatingsStage.FIELDS if field.shown]
    assert all(field.help and field.hint and len(field.label) <= 10 for field in shown)
    assert [field.id for field in shown] == [name for form in RatingsStage.FORMS for name in form.fields]
