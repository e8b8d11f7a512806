"""Records come back from the bin as they went in; what no bench writes is refused with its place."""

from __future__ import annotations

import json
from dataclasses import MISSING, fields, is_dataclass
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.errors import Fault, InputProblem
from coilbench.plain_text import cleaned
from coilbench.records.place import Place
from coilbench.records.saved import decode
from coilbench.records.saved.base import Event, Limits, Longest
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import SearchBegun, SearchEnded, SlowTurn, TrialMade
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin


def values(shape: Any) -> st.SearchStrategy[Any]:
    """Values of a shape, drawn from its own declaration."""
    origin, arguments = get_origin(shape), get_args(shape)
    if origin is Annotated:
        kind, limits = arguments
        if isinstance(limits, Longest):
            return st.text(max_size=12).map(cleaned)
        assert isinstance(limits, Limits)
        if kind is int:
            return st.integers(int(limits.least), int(limits.most))
        return st.floats(limits.least, limits.most)
    if origin in (Union, UnionType):
        return st.one_of(*(values(each) for each in arguments))
    if origin is Literal:
        return st.sampled_from(arguments)
    if origin is tuple:
        if arguments[-1] is Ellipsis:
            return st.lists(values(arguments[0]), max_size=3).map(tuple)
        return st.tuples(*(values(each) for each in arguments))
    if origin is dict:
        return st.dictionaries(st.text(max_size=5).map(cleaned), values(arguments[1]), max_size=3)
    if is_dataclass(shape):
        hints = get_type_hints(shape, include_extras=True)
        return st.builds(shape, **{each.name: values(hints[each.name]) for each in fields(shape)})
    return {NoneType: st.none(), bool: st.booleans(), int: st.integers(-(2**50), 2**50)}[shape]


SHAPES = [
    (stage, shape, read)
    for stage in sorted(decode.stages())
    for shape, read in zip(decode.shapes(stage), (decode.kept_fact, decode.kept_event), strict=True)
    if shape is not None
]


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(SHAPES).flatmap(lambda each: st.tuples(st.just(each), values(each[1]))))
def test_what_is_written_is_read_again(drawn: tuple[Any, Any]) -> None:
    (stage, _, read), record = drawn
    assert read("M-01", stage, decode.json_of(record)) == record


def test_every_stage_of_which_records_are_kept() -> None:
    stages = {"intake", "windings", "order", "ratings", "connection", "driver", "jog", "notes"}
    assert stages == decode.stages()
    assert decode.fact_of("../x", Place({}, "")) is None and decode.event_of("torque", Place({}, "")) is None


@pytest.mark.parametrize(
    ("stage", "value", "said"),
    [
        ("intake", [], "facts: a list, expected an object"),
        ("intake", {"frame": 3}, "facts.frame: 3, expected text of at most"),
        ("intake", {"length_metre": 0}, "facts.length_metre: 0, expected a number above zero"),
        ("intake", {"length_metre": 1e300}, "facts.length_metre"),
        ("intake", {"length_metre": True}, "facts.length_metre: true"),
        ("windings", {}, "facts: no 'arrangement', expected arrangement"),
        ("windings", {"arrangement": "x", "coils": [{"name": "A", "ends": ["RD"]}]}, r"coils\[0\].ends: a list"),
        ("windings", {"arrangement": "x", "readings": 1.5}, "facts.readings: 1.5, expected a whole number"),
        ("windings", {"arrangement": "x", "next": 3}, "facts.next: 3, expected"),
        ("order", {"done": 1}, "facts.done: 1, expected true or false"),
        ("order", {"halves": {"A": [["RD", "BU"]]}}, "facts.halves.A: a list, expected a list of 2"),
        ("driver", {"chip": "A4988", "peak_ampere": 1, "microsteps": 300}, "microsteps: 300, expected a whole"),
        ("jog", {"drives": [{"drive": {"kind": "belt"}}]}, r"drives\[0\].drive.kind: 'belt', expected one of driver"),
    ],
)
def test_what_is_no_record_is_named(stage: str, value: Any, said: str) -> None:
    with pytest.raises(InputProblem, match=said):
        decode.fact_of(stage, Place(value, "facts"))


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ({}, "no 'kind', expected begin, trial, turn, end"),
        ({"kind": "dance"}, "kind: 'dance', expected begin, trial, turn, end"),
        ({"kind": "turn"}, "no 'turned'"),
        ({"kind": "begin", "plan": {"question": "why"}}, "plan"),
    ],
)
def test_events_of_the_jog_are_told_by_their_kind(value: Any, said: str) -> None:
    with pytest.raises(InputProblem, match=said):
        decode.event_of("jog", Place(value, "event"))


def test_a_key_that_is_not_known_is_passed_over() -> None:
    assert decode.fact_of("intake", Place({"frame": "NEMA 17", "colour": 3}, "")) == Intake(frame="NEMA 17")


def test_usual_values_of_events_are_not_written_and_come_back() -> None:
    assert json.loads(decode.json_of(SearchEnded())) == {"kind": "end"}
    assert decode.kept_event("M-01", "jog", '{"kind": "end"}') == SearchEnded()
    required = [each.name for each in fields(TrialMade) if each.default is MISSING]
    assert required == ["trial", "outcome"]


def test_somebody_elses_writing_in_the_bin_is_a_fault_in_words(bin_: Bin) -> None:
    with bin_.writing() as connection:
        connection.execute(
            "INSERT INTO facts (motor_id, stage, value, time) VALUES (1, 'ratings', '{\"basis\": 3}', '')"
        )
    with pytest.raises(Fault, match=r"M-07.ratings.basis: 3, expected a list"):
        bin_.known("M-07")


def test_facts_are_looked_up_by_their_type() -> None:
    known = Facts({"intake": Intake(frame="NEMA 17")})
    assert known.get(Intake) == Intake(frame="NEMA 17") and known.get(Ratings) is None
    assert "intake" in known and "ratings" not in known
    assert known == Facts({"intake": Intake(frame="NEMA 17")}) and known != Facts()


def test_kinds_of_events_are_kept_apart() -> None:
    kinds = {SearchBegun, TrialMade, SlowTurn, SearchEnded}
    assert {each.stage for each in kinds} == {"jog"} and HandTest.stage == Order.stage == "order"
    assert issubclass(HandTest, Event) and Windings.stage == "windings"
