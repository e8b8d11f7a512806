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
from coilbench.stages.connection import ConnectionStage, cells
from coilbench.stages.desk import scratch_desk
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
    # 23-305-DS8A drawing (read): 2.12 A, 2.8 ohm, 12.8 mH in series.
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
        ("inductance", "3", "inductance: '3'"),  # henry or millihenry?
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
    fine, coarse = stage.answer(typed).rows[0], stage.answer({**typed, "step": "1.8"}).rows[0]
    assert fine.speed_limit_rev_per_second and coarse.speed_limit_rev_per_second
    assert coarse.speed_limit_rev_per_second == pytest.approx(2 * fine.speed_limit_rev_per_second)


def test_a_row_says_what_is_known_and_no_more() -> None:
    four = stage_of().answer({"leads": "4", "coil": "2.4", "current": "0.84"}).rows[0]
    assert (cells(four, 2)["RMS"], cells(four, 2)["torque"], cells(four, 2)["henry"]) == ("0.84 A", "", "")
    six = stage_of().answer({"leads": "6", "coil": "30", "current": "0.4", "inductance": "20 mH"}).rows[1]
    assert (cells(six, 2)["torque"], cells(six, 2)["henry"]) == ("1.41", "80 mH")
