"""The phase order without a screen: by hand, by a board, taken up again, taken back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from coilbench.board.virtual.crate import VirtualCrate
from coilbench.board.virtual.hand_tests import shown
from coilbench.board.virtual.windings import Windings as VirtualWindings
from coilbench.errors import InputProblem
from coilbench.records.exchange import export_object, import_text
from coilbench.records.saved.base import Fact
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.motor import phases
from coilbench.stages.order.stage import OrderStage
from tests.support.motors import EIGHT, FIVE, FOUR, IN_ORDER, RING, SIX

FIVE_LEADS = "WH RD YE BU BK"
SIX_LEADS = "RD BU WH GN BK YE"


def desk(leads: str, *facts: Fact) -> Desk:
    found = scratch_desk(leads.split())
    for fact in facts:
        found.derive(fact)
    return found


@pytest.fixture
def five() -> Iterator[Desk]:
    found = desk(FIVE_LEADS, FIVE)
    with found.bin:
        yield found


def seen(stage: OrderStage) -> str:
    """What the five-lead motor's shaft does at the asked test."""
    assert stage.test is not None
    steps = (RING.index(stage.test.touched) - RING.index(stage.test.reference)) % 4
    return ("not at all", "clockwise", "not at all", "anticlockwise")[steps]


def all_tested(stage: OrderStage) -> int:
    count = 0
    while stage.test is not None:
        stage.answer(seen(stage))
        count += 1
    return count


def turns_as(sequence: tuple[str, ...], ring: tuple[str, ...]) -> bool:
    start = ring.index(sequence[0])
    return sequence == ring[start:] + ring[:start]


def test_tests_by_hand_find_the_order_and_each_is_an_event(five: Desk) -> None:
    stage = OrderStage(five)
    asked = stage.state.test
    assert asked is not None and asked.asks.endswith("?") and asked.cautions and len(asked.words) == 4
    count = all_tested(stage)
    assert len(five.entries(HandTest)) == count
    order = five.known.get(Order)
    assert order is not None and turns_as(order.sequence, RING) and order.tests == count
    state = stage.state
    assert state.done and state.title == "the order is known" and "clockwise" in state.text
    assert [each.label for each in state.known] == ["tests", "sure", "sequence"]


def test_an_answer_that_cannot_be_read_or_is_not_asked_is_refused(five: Desk) -> None:
    stage = OrderStage(five)
    with pytest.raises(InputProblem, match="'hmm'"):
        stage.answer("hmm")
    assert five.entries(HandTest) == []
    all_tested(stage)
    with pytest.raises(InputProblem, match="nothing is asked"):
        stage.answer("cw")


def test_another_goes_on_where_one_stopped(five: Desk) -> None:
    first = OrderStage(five)
    first.answer(seen(first))
    second = OrderStage(five)
    assert second.verdict == first.verdict and second.verdict is not None and second.verdict.tests == 1


def test_tests_are_taken_back_and_done_again(five: Desk) -> None:
    stage = OrderStage(five)
    count = all_tested(stage)
    known = five.known.get(Order)
    assert stage.undo() is not None and Order.stage not in five.known and stage.test is not None
    assert len(five.entries(HandTest)) == count - 1
    assert stage.redo() is not None and five.known.get(Order) == known and stage.test is None
    while stage.can_undo:
        stage.undo()
    assert five.entries(HandTest) == [] and stage.undo() is None


@pytest.mark.parametrize("tests", [0, 2])
def test_an_order_saved_without_its_tests_is_known_and_stays(five: Desk, tests: int) -> None:
    stage = OrderStage(five)
    for _ in range(tests):
        stage.answer(seen(stage))
    five.derive(IN_ORDER)
    stage = OrderStage(five)
    assert five.known.get(Order) == IN_ORDER
    assert stage.test is None and stage.state.done and "RD BU YE BK" in stage.state.known[-1].text
    for _ in range(tests):  # it does not rest on these
        assert stage.undo() is not None
        assert five.known.get(Order) == IN_ORDER and stage.test is None


def test_an_order_of_windings_sorted_otherwise_since_is_asked_for_anew(five: Desk) -> None:
    others = zip("ABCD", ("WH", "YE", "BU", "BK"), strict=True)
    other = tuple(Coil(name=name, ends=("RD", end), ohms=70.0) for name, end in others)
    five.derive(IN_ORDER)
    five.add(HandTest(kind="twitch", reference="RD", touched="BU", answer="cw"))
    five.derive(Windings(arrangement="unipolar-5", confidence=0.99, coils=other, common="RD"))
    stage = OrderStage(five)
    assert stage.test is not None and stage.verdict is not None and stage.verdict.tests == 0
    assert five.known.get(Order) == IN_ORDER  # looking changes nothing
    stage.answer("unsure")
    assert Order.stage not in five.known


def test_what_the_saved_tests_settle_is_kept_where_nothing_is(five: Desk) -> None:
    all_tested(OrderStage(five))
    known = five.known.get(Order)
    five.withdraw(Order.stage)
    OrderStage(five)
    assert five.known.get(Order) == known


def test_a_bin_that_may_only_be_read_is_shown(tmp_path: Path) -> None:
    with Bin.open(tmp_path / "a.bin") as bin_:
        bin_.add_motor("vent", FIVE_LEADS.split())
        vent = Desk(bin_, "vent")
        vent.derive(FIVE)
        all_tested(OrderStage(vent))
        vent.withdraw(Order.stage)
        bin_.read_only = True
        stage = OrderStage(vent)
        assert stage.state.done and Order.stage not in vent.known and not stage.can_undo


@pytest.mark.parametrize(
    ("windings", "title"),
    [
        (None, "first sort"),
        (Windings(arrangement="unipolar-6", confidence=0.5, coils=SIX.coils), "first sort"),
        (FOUR, "nothing to do"),
        (Windings(arrangement="three-phase-3", confidence=0.99), "nothing to do"),
        (
            Windings(
                arrangement="unipolar-6",
                confidence=0.99,
                coils=SIX.coils,
                faults=(WindingFault(kind="frame", leads=("RD",)),),
            ),
            "don't power",
        ),
        (
            Windings(
                arrangement="unipolar-6",
                confidence=0.99,
                coils=SIX.coils,
                faults=(WindingFault(kind="open", leads=("RD", "WH")),),
            ),
            "no order",
        ),
        (
            Windings(
                arrangement="unipolar-6",
                confidence=0.99,
                coils=(SIX.coils[0], Coil(name="B", ends=("GN", "BK"), tap="YE")),
                next=("GN", "BK"),
            ),
            "first sort",
        ),
    ],
)
def test_where_there_is_nothing_to_ask_it_says_why(windings: Windings | None, title: str) -> None:
    found = desk(SIX_LEADS, *([] if windings is None else [windings]))
    with found.bin:
        stage = OrderStage(found)
        state = stage.state
        assert stage.test is None and state.test is None and state.title.startswith(title) and state.text
        assert (state.wiring is None) == (windings is None)
        assert state.wiring is None or state.wiring.text(60, 40)


@pytest.mark.parametrize(("name", "windings"), [("M-02", SIX), ("M-03", FIVE), ("M-04", EIGHT)])
def test_a_board_finds_the_order(name: str, windings: Windings) -> None:
    motor = VirtualCrate().motor(name).windings
    found = desk(" ".join(motor.leads), _with_leads(windings, motor.leads))
    with found.bin:
        stage = OrderStage(found)
        while stage.test is not None and stage.test.kind == "flick":
            assert stage.board.lines is None
            with pytest.raises(InputProblem):
                stage.board.nudge()
            stage.answer(shown(motor, stage.test))
        lines = stage.board.lines
        assert lines is not None
        places = "".join(str(motor.places[end]) for end in lines.ends)
        stage.board.greeted(stage.board.connect(f"virtual://bench?clock=free&lines={places}")())
        assert all(end in "\n".join(stage.board.wiring()) for end in lines.ends)
        for _ in range(20):
            if stage.test is None:
                break
            assert stage.board.lines == lines  # nothing is wired anew
            assert not stage.can_answer
            with pytest.raises(InputProblem, match="nudge first"):
                stage.answer("cw")
            says: list[str] = []

            def told(state: str, _: float, said: list[str] = says) -> None:
                stage.board.told(state)
                said.append(stage.board.says)

            stage.board.nudge_ended(stage.board.nudge()(told))
            assert "holds" in says[0] and "which way" in says[-1]
            answer = stage.board.turned_answer()
            assert answer is not None
            stage.answer(answer)
        assert stage.board.session is None and not stage.board.connected  # done: the board is let go
        order = found.known.get(Order)
        assert order is not None
        turned = [motor.places[end] for end in order.sequence]
        assert [(place - turned[0]) % 4 for place in turned] == [0, 1, 2, 3]


def test_a_stopped_nudge_is_no_answer(five: Desk) -> None:
    stage = OrderStage(five)
    stage.board.greeted(stage.board.connect("virtual://bench?clock=free")())
    job = stage.board.nudge()
    assert stage.board.session is not None
    stage.board.session.stop()
    stage.board.nudge_ended(job(lambda *_: None), covered=True)
    assert stage.board.connected and "covered STOP" in stage.board.says
    assert not stage.can_answer and stage.board.turned_answer() is None
    stage.board.leave()
    assert stage.can_answer and five.entries(HandTest) == []


def _with_leads(windings: Windings, leads: tuple[str, ...]) -> Windings:
    """The same with other leads, which stand in the order of the arrangement's terminals."""
    if windings is FIVE:
        ends = [((leads[0], end), None) for end in leads[1:]]
    elif windings is SIX:
        ends = [((leads[0], leads[2]), leads[1]), ((leads[3], leads[5]), leads[4])]
    else:
        ends = [(pair, None) for pair in zip(leads[::2], leads[1::2], strict=True)]
    coils = tuple(replace(c, ends=pair, tap=tap) for c, (pair, tap) in zip(windings.coils, ends, strict=True))
    return replace(windings, coils=coils, common=leads[0] if windings is FIVE else None)


def by_other_ways(stage: OrderStage, motor: VirtualWindings) -> int:
    count = 0
    while stage.test is not None and count < 40:
        stage.answer(shown(motor, stage.test))
        count += 1
    return count


@pytest.mark.parametrize(
    ("name", "windings", "way"),
    [(name, windings, way) for name, windings in (("M-03", FIVE), ("M-04", EIGHT)) for way in ("volts", "free")]
    + [("M-04", EIGHT, "drag")],
)
def test_another_way_finds_all_but_the_direction_and_the_flag_goes_on_from_there(
    name: str, windings: Windings, way: str
) -> None:
    motor = VirtualCrate().motor(name).windings
    found = desk(" ".join(motor.leads), _with_leads(windings, motor.leads))
    with found.bin:
        stage = OrderStage(found)
        assert stage.state.others == "another way"
        stage.choose(way)
        asked = stage.state.test
        assert asked is not None and asked.way and len(asked.words) == len(asked.answers)
        count = by_other_ways(stage, motor)
        order = found.known.get(Order)
        assert order is not None and order.done and not order.direction_known and order.tests == count
        state = stage.state
        assert state.title == "the order is known, but for the direction" and "isn't known" in state.text
        assert "backwards" in state.known[-1].text and state.others == "find the direction"
        assert {motor.places[end] % 2 for end in order.sequence[::2]} in ({0}, {1})  # a phase's two ends
        assert len(phases(found.known)) == 2  # enough for the stages after this one
        again = OrderStage(found)  # another day: it goes on by the way of the last test
        assert again.state == state and again.way == way
        again.choose_next()
        assert again.test is not None and again.test.kind == "twitch" and again.way == "usual"
        assert found.known.get(Order) == order  # looking changes nothing
        by_other_ways(again, motor)
        order = found.known.get(Order)
        assert order is not None and order.done and order.direction_known
        turned = [motor.places[end] for end in order.sequence]
        assert [(place - turned[0]) % 4 for place in turned] == [0, 1, 2, 3]
        while again.can_undo:
            again.undo()
        assert found.entries(HandTest) == [] and Order.stage not in found.known


def test_what_is_known_is_confirmed_by_one_more_test_or_doubted(five: Desk) -> None:
    stage = OrderStage(five)
    all_tested(stage)
    known = five.known.get(Order)
    assert known is not None and stage.state.others == "confirm by a test"
    stage.choose("free")
    assert stage.test is not None and stage.test.kind == "free" and stage.state.test is not None
    assert "confirms" in stage.state.test.why and five.known.get(Order) == known
    partners = abs(RING.index(stage.test.reference) - RING.index(stage.test.touched)) == 2
    stage.answer("free" if partners else "holds")
    surer = five.known.get(Order)
    assert surer is not None and surer.confidence > known.confidence and stage.test is None
    stage.choose("free")
    assert stage.test is not None
    partners = abs(RING.index(stage.test.reference) - RING.index(stage.test.touched)) == 2
    stage.answer("holds" if partners else "free")
    assert stage.state.doubts and "with" in stage.state.doubts[0]


def test_a_way_that_tells_nothing_is_refused() -> None:
    found = desk(SIX_LEADS, SIX)
    with found.bin:
        stage = OrderStage(found)
        assert stage.ways == () and stage.state.others == ""
        with pytest.raises(InputProblem):
            stage.choose("volts")
        with pytest.raises(InputProblem):
            stage.choose_next()


def test_every_kind_of_test_goes_round_through_an_export(tmp_path: Path) -> None:
    """Each answer comes back from an exported bin as it was given, and tells the same."""
    with Bin.open(tmp_path / "a.bin") as bin_, Bin.open(tmp_path / "b.bin") as other:
        motor = VirtualCrate().motor("M-04").windings
        bin_.add_motor("deck", motor.leads)
        deck = Desk(bin_, "deck")
        deck.derive(_with_leads(EIGHT, motor.leads))
        stage = OrderStage(deck)
        for way in ("volts", "free", "drag", "usual", "volts"):
            stage.choose(way)
            for _ in range(2 if way == "volts" else 1):
                if stage.test is not None:
                    stage.answer(shown(motor, stage.test))
        made = [entry.value for entry in deck.entries(HandTest)]
        assert {test.kind for test in made} >= {"induced", "added", "free", "drag", "flick"}
        import_text(other, json.dumps(export_object(bin_)))
        back = Desk(other, "deck")
        assert [entry.value for entry in back.entries(HandTest)] == made
        assert OrderStage(back).verdict == OrderStage(deck).verdict


def test_digits_answer_as_on_the_screen(five: Desk) -> None:
    stage = OrderStage(five)
    stage.answer("2")
    stage.choose("volts")
    assert stage.test is not None
    named = stage.test.answers[2]
    stage.answer("3")
    first, second = (entry.value for entry in five.entries(HandTest))
    assert first.answer == "ccw" and (second.answer, f"on {second.touched}") == ("most", named)
    with pytest.raises(InputProblem, match="'5'"):
        stage.answer("5")
