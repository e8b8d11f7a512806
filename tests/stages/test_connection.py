"""The connection without a screen: what is compared, what must come first, what is kept and there again."""

from __future__ import annotations

import pytest

from coilbench.errors import Fault, InputProblem, NotEnoughKnown
from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import WindingFault, Windings
from coilbench.stages.connection.answer import as_json, cells
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import scratch_desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.form import FieldProblem
from tests.support.motors import EIGHT, EIGHT_LEADS, FIVE, PAIRED, RATED, SIX


def stage_of(*facts: Fact, leads: str = EIGHT_LEADS) -> ConnectionStage:
    desk = scratch_desk(leads.split())
    for fact in facts:
        desk.keep(fact.stage, fact)
    return ConnectionStage(desk)


@pytest.fixture
def eight() -> ConnectionStage:
    return stage_of(EIGHT, PAIRED, RATED)


def chosen(stage: ConnectionStage, **texts: str) -> str:
    answer = stage.answer({**stage.texts(), **texts})
    assert answer.choice is not None
    return answer.choice.choose


def test_the_advised_one_is_kept_with_its_wiring(eight: ConnectionStage) -> None:
    answer = eight.keep(eight.texts())
    assert [row.connection for row in answer.rows] == ["half-coil", "series", "parallel", "unipolar"]
    saved = eight.desk.known.get(Connection)
    assert saved is not None and saved.connection == "series"
    # 23-305-DS8A: drawing of 2007-05-13: 2.12 A, 2.8 ohm, 12.8 mH in series.
    assert round(saved.current_ampere, 2) == 2.12 and saved.inductance_henry == pytest.approx(12.8e-3)
    assert "join: YE + BU" in saved.wiring


def test_the_driver_at_hand_decides(eight: ConnectionStage) -> None:
    assert chosen(eight, driver="5 A", supply="24") == "parallel"
    assert chosen(eight, driver="A4988", supply="24") == "series"
    assert chosen(eight, driver="5 A", drive="unipolar") == "unipolar"
    assert chosen(eight, driver="SLA7026M") == "unipolar"


def test_another_driver_says_again_what_kind_it_is(eight: ConnectionStage) -> None:
    texts = {**eight.texts(), "drive": "bipolar"}
    assert eight.answer({**texts, "driver": "SLA7026M"}).drive == "bipolar"  # said by the person
    assert eight.answer(eight.with_driver(texts, "SLA7026M")).drive == "unipolar"
    assert eight.with_driver(texts, "5 A")["drive"] == "bipolar"  # amperes say nothing of the kind


def test_another_one_can_be_taken_and_what_was_typed_is_there_again(eight: ConnectionStage) -> None:
    eight.keep({**eight.texts(), "driver": "5 A", "supply": "24", "take": "series", "drive": "bipolar"})
    again = ConnectionStage(eight.desk)
    assert again.texts()["driver"] == "5 A" and again.texts()["supply"] == "24"
    answer = again.answer(again.texts())
    assert answer.choice is not None and answer.choice.choose == "parallel"
    assert answer.picked is not None and answer.picked.connection == "series"


def test_what_was_taken_is_taken_back_and_done_again(eight: ConnectionStage) -> None:
    eight.keep({**eight.texts(), "take": "parallel"})
    eight.keep({**eight.texts(), "take": "series"})
    eight.undo()
    assert eight.texts()["take"] == "parallel"
    eight.redo()
    assert eight.texts()["take"] == "series"


@pytest.mark.parametrize(
    ("field", "text", "said"),
    [
        ("supply", "24 A", "supply: '24 A'"),
        ("driver", "200 rpm", "'200 rpm' is no driver"),
        ("inductance", "3 V", "inductance: '3 V'"),
        ("leads", "7", "expected 4, 5, 6 or 8"),
        ("drive", "belt", "bipolar or unipolar"),
    ],
)
def test_what_can_not_be_read_is_said_of_its_field(eight: ConnectionStage, field: str, text: str, said: str) -> None:
    with pytest.raises(FieldProblem, match=said) as caught:
        eight.answer({**eight.texts(), field: text})
    assert caught.value.field == field


def test_an_unknown_chip_is_said_with_the_nearest(eight: ConnectionStage) -> None:
    with pytest.raises(InputProblem, match="A498"):
        eight.answer({**eight.texts(), "driver": "A4989X7"})


@pytest.mark.parametrize(
    ("facts", "said"),
    [
        ((), "sort the windings first"),
        ((EIGHT,), "rate the motor first"),
        ((Windings(arrangement="three-phase-3", confidence=0.99), RATED), "only two-phase motors"),
    ],
)
def test_what_must_come_first_is_said(facts: tuple[Fact, ...], said: str) -> None:
    stage = stage_of(*facts)
    with pytest.raises(NotEnoughKnown, match=said):
        stage.keep(stage.texts())
    assert "connection" not in stage.desk.known


def test_a_leaking_motor_is_not_connected() -> None:
    leaks = Windings(arrangement="split-8", confidence=0.99, faults=(WindingFault(kind="frame", leads=("RD",)),))
    stage = stage_of(leaks, RATED)
    with pytest.raises(Fault, match="do not power"):
        stage.answer(stage.texts())


def test_five_leads_wait_for_a_unipolar_driver() -> None:
    rated = Ratings(current_ampere=0.25, resistance_ohm=70.0)
    stage = stage_of(FIVE, rated, leads="RD YE BU BK WH")
    assert stage.answer(stage.texts()).drive == "unipolar" and chosen(stage) == "unipolar"


def test_no_lead_names_before_the_halves_are_paired() -> None:
    answer = stage_of(EIGHT, RATED).answer({})
    assert answer.phases == () and "cell" in answer.test and answer.wires() == ()


def test_the_driver_set_a_stage_later_is_the_one_at_hand(eight: ConnectionStage) -> None:
    eight.desk.keep("driver", Driver(chip="A4988", peak_ampere=1.0))
    assert eight.texts()["driver"] == "A4988"
    eight.desk.keep("driver", Driver(chip="own chip", peak_ampere=1.0))  # one set by its gain has no row
    assert eight.texts()["driver"] == ""


def test_the_printed_step_angle_comes_first() -> None:
    rated = Ratings(current_ampere=0.4, resistance_ohm=24.0, inductance_henry=0.02, step_angle_degree=1.8)
    stage = stage_of(SIX, rated, Intake(step_angle_degree=0.9))
    typed = {**stage.texts(), "supply": "24"}
    fine, coarse = (stage.answer({**typed, **more}).pulls["half-coil"] for more in ({}, {"step": "1.8"}))
    assert fine.half_rev_per_second < 0.85 * coarse.half_rev_per_second


def test_a_row_says_what_is_known_and_no_more() -> None:
    answer = stage_of().answer({"leads": "4", "coil": "2.4", "current": "0.84"})
    four = cells(answer.rows[0], answer, 2)
    assert (four["rated RMS"], four["torque at rest"], four["henry"], four["at speed"]) == ("0.84 A", "", "", "")
    answer = stage_of().answer({"leads": "6", "coil": "30", "current": "0.4", "inductance": "20 mH"})
    six = cells(answer.rows[1], answer, 2)
    assert (six["torque at rest"], six["henry"], six["half at"]) == ("1.41", "80 mH", "")


# 24 ohm, 15 mH, 0.4 A a half-winding: worked by hand, half-coil is ahead from about 60 rpm on 12 V, series on 24 V.
SLOW_SUPPLY = {"leads": "6", "coil": "24", "current": "0.4", "inductance": "15 mH"}


def test_the_supply_that_is_there_decides() -> None:
    assert chosen(stage_of(), **SLOW_SUPPLY, supply="12", speed="100") == "half-coil"
    assert chosen(stage_of(), **SLOW_SUPPLY, supply="24", speed="100") == "series"
    assert chosen(stage_of(), **SLOW_SUPPLY, supply="12", speed="20") == "series"
    assert chosen(stage_of(), **SLOW_SUPPLY, supply="24", speed="600") == "half-coil"


def test_without_a_wanted_speed_both_ends_are_shown() -> None:
    answer = stage_of().answer({**SLOW_SUPPLY, "supply": "12"})
    assert answer.choice is not None and answer.choice.choose == "half-coil" and "usual speed" in answer.why
    half, series = answer.pulls["half-coil"], answer.pulls["series"]
    assert series.at_rest == pytest.approx(2**0.5 * 12 / 13.58, rel=1e-3)  # 12 V through 48 ohm: not all its current
    assert series.at_rest > half.at_rest == 1.0
    assert series.half_rev_per_second < half.half_rev_per_second
    assert series.full_current_rev_per_second == 0 < half.full_current_rev_per_second
    (crossing,) = [note for note in answer.notes if "rpm series pulls more" in note]
    assert 30 < float(crossing.split()[2]) < 90
    told = cells(answer.rows[0], answer)
    assert told["at 120 rpm"] and told["half at rpm"]


def test_without_a_supply_it_says_what_the_answer_rests_on() -> None:
    answer = stage_of().answer(SLOW_SUPPLY)
    assert answer.pulls == {} and any("tell the supply" in note for note in answer.notes)


def test_an_inductance_that_is_not_known_is_taken_with_its_doubt() -> None:
    known_one = {"leads": "6", "coil": "24", "current": "0.4"}
    answer = stage_of(Intake(frame="NEMA 17")).answer({**known_one, "supply": "24"})
    (doubt,) = [note for note in answer.notes if "inductance not known" in note]
    assert "20 mH" in doubt and "with more half-coil is ahead: measure it" in doubt
    assert all(row.henry is None for row in answer.rows)
    sure = stage_of().answer({**known_one, "supply": "48", "speed": "30"})
    assert any("the choice holds" in note for note in sure.notes)


def test_a_known_holding_torque_sets_the_back_emf() -> None:
    weak, strong = (
        stage_of(
            SIX,
            Ratings(
                current_ampere=0.4,
                estimate_ampere=0.4,
                resistance_ohm=24.0,
                inductance_henry=0.015,
                holding_torque_newton_metre=hold,
            ),
            leads="RD BU WH GN BK YE",
        ).answer({"supply": "12"})
        for hold in (0.05, 0.4)
    )
    assert weak.pulls["series"].at_speed > strong.pulls["series"].at_speed
    assert not any("magnet" in note for note in (*weak.notes, *strong.notes))


def test_a_chip_is_limited_to_what_a_bare_board_carries() -> None:
    # 8 leads, 1.4 A: parallel would want 1.98 A, which the A4988's 2 A are the absolute maximum for.
    eight_leads = {"leads": "8", "coil": "1.4", "current": "1.4", "driver": "A4988"}
    answer = stage_of().answer(eight_leads)
    assert answer.choice is not None and answer.choice.choose == "series"
    assert max(row.usable_ampere for row in answer.rows) == 1.0 and "bare A4988 board" in answer.why
    assert as_json(answer)["limit_peak_amp"] == 1.0


@pytest.mark.parametrize(
    ("chip", "words"), [("A4984", "half of its absolute maximum of 2 A"), ("TMC5160", "give it as amperes")]
)
def test_a_limit_that_nothing_tells_is_said(chip: str, words: str) -> None:
    answer = stage_of().answer({"leads": "4", "coil": "1.4", "current": "1.4", "driver": chip})
    assert any(words in note for note in answer.notes)


def test_what_a_driver_is_set_to_does_not_burn_it() -> None:
    """The current that is advised for a chip is one that the driver stage lets pass without a stop or a warning of
    heat."""
    desk = scratch_desk(EIGHT_LEADS.split())
    for fact in (EIGHT, PAIRED, Ratings(current_ampere=1.4, resistance_ohm=1.4, inductance_henry=2e-3)):
        desk.keep(fact.stage, fact)
    connection = ConnectionStage(desk)
    connection.keep({**connection.texts(), "driver": "A4988", "supply": "24"})
    driver = DriverStage(desk)
    answer = driver.answer({**driver.texts(), "sense": "R100"})
    assert answer.can_be_set and answer.judgement is not None
    assert (heat := answer.judgement.heat) is not None and (heat.junction_celsius or 999) < 125


def test_a_driver_that_limits_no_current_is_no_chopper() -> None:
    answer = stage_of().answer({**SLOW_SUPPLY, "supply": "24", "driver": "ULN2003A"})
    assert answer.choice is not None and answer.choice.choose == "unipolar"
    said = " ".join(answer.notes)
    assert "limits no current" in said and "36 ohm" in said and "chopper" not in said
    # A resistor halves the time constant: it is faster than on the bare winding's own voltage.
    bare = stage_of().answer({**SLOW_SUPPLY, "supply": "9.6", "driver": "ULN2003A"})
    fast, slow = (each.pulls["unipolar"].half_rev_per_second for each in (answer, bare))
    assert fast > 1.3 * slow and not any("in series" in note for note in bare.notes)
