"""The bin as JSON: round trip, and nothing let in that isn't sound."""

import copy
import json
import math
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.exchange import Imported, export_object, import_text
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import HandTest
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

MOTOR = "M-07"


@pytest.fixture
def exported(bin_: Bin) -> dict[str, Any]:
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.2, 200.0), meter="1% + 0.2 ohm")
    writing.add_reading(bin_, MOTOR, Reading("RD", "WH", math.inf))
    writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 17", label="größer [/x]"))
    writing.add_event(bin_, MOTOR, HandTest(kind="twitch", reference="RD", touched="BU", answer="cw"))
    bin_.add_motor("=1+1", ["[/x]", "@A1"])
    return export_object(bin_)


def test_round_trip(exported: dict[str, Any], tmp_path: Path) -> None:
    with Bin.open(tmp_path / "second.db") as second:
        assert import_text(second, json.dumps(exported)) == Imported([(MOTOR, MOTOR), ("=1+1", "=1+1")])
        assert export_object(second) == exported
        assert second.readings(MOTOR)[1].ohm == math.inf
        writing.add_reading(second, MOTOR, Reading("RD", "WH", 1.0))
        writing.undo(second, MOTOR)
    assert export_object_of(tmp_path / "second.db") == exported


def export_object_of(path: Path) -> dict[str, Any]:
    with Bin.open(path) as bin_:
        return export_object(bin_)


def test_one_motor_alone(bin_: Bin, exported: dict[str, Any]) -> None:
    assert export_object(bin_, [MOTOR])["motors"] == exported["motors"][:1]
    with pytest.raises(InputProblem):
        export_object(bin_, ["M-99"])


def test_a_taken_name_is_made_unique(bin_: Bin, exported: dict[str, Any]) -> None:
    for ohms, name in ((48.3, "M-07 (2)"), (48.4, "M-07 (3)")):
        assert import_text(bin_, changed(exported, (*FIRST, "ohms"), ohms)).added == [(MOTOR, name)]
    long = {**exported["motors"][0], "name": "x" * 80, "created": "2026-01-02T03:04:05+00:00"}
    import_text(bin_, json.dumps({**exported, "motors": [long]}))
    long["leads"] = [*long["leads"], "YE"]
    assert import_text(bin_, json.dumps({**exported, "motors": [long]})).added == [("x" * 80, "x" * 76 + " (2)")]


def test_the_same_motors_again_are_left_out(bin_: Bin, exported: dict[str, Any]) -> None:
    text = json.dumps(exported)
    assert import_text(bin_, text) == Imported([], [(MOTOR, MOTOR), ("=1+1", "=1+1")])
    assert export_object(bin_) == exported
    bin_.rename(MOTOR, "vent opener")  # the same motor under a name of one's own
    bin_.rename("=1+1", "spare")  # nothing done on it yet: two such may well be two motors
    assert import_text(bin_, text) == Imported([("=1+1", "=1+1")], [(MOTOR, "vent opener")])


def test_a_whole_number_of_ohms_is_the_same_as_its_decimal(bin_: Bin, exported: dict[str, Any]) -> None:
    text = changed(exported, (*FIRST, "ohms"), 48)
    assert import_text(bin_, text).added == [(MOTOR, "M-07 (2)")]
    assert import_text(bin_, text).added == []


def changed(whole: dict[str, Any], where: tuple[Any, ...], value: Any) -> str:
    whole = copy.deepcopy(whole)
    place: Any = whole
    for key in where[:-1]:
        place = place[key]
    place[where[-1]] = value
    return json.dumps(whole)


FIRST = ("motors", 0, "readings", 0)
NESTED: list[Any] = []
for _ in range(100):
    NESTED = [NESTED]


@pytest.mark.parametrize(
    ("where", "value", "said"),
    [
        (("format",), "something", "format: 'something'"),
        (("version",), 5, "version: 5"),
        (("version",), True, "version: true"),
        (("motors",), {}, "motors: an object, expected a list"),
        (("extra",), 1, "'extra' is not known"),
        (("motors", 1, "name"), "", r"motors\[1\]"),
        (("motors", 1, "name"), "\ud800", r"motors\[1\]\.name"),
        (("motors", 1, "leads"), ["A", "A"], "twice"),
        (("motors", 1, "leads"), [f"L{number}" for number in range(13)], "13 leads"),
        (("motors", 1, "leads"), ["frame"], "kept for"),
        (("motors", 1, "created"), "yesterday", "ISO 8601"),
        (("motors", 0, "events", 0, "value"), {"touched": "RD"}, r"events\[0\]\.value: no 'kind'"),
        ((*FIRST, "ohms"), -3, r"motors\[0\]\.readings\[0\]\.ohms: -3, expected"),
        ((*FIRST, "ohms"), "48.2", "ohms: '48.2'"),
        ((*FIRST, "ohms"), None, "ohms: null"),
        ((*FIRST, "ohms"), True, "ohms: true"),
        ((*FIRST, "ohms"), 10**400, "ohms"),
        ((*FIRST, "ohms"), math.nan, "NaN"),
        ((*FIRST, "to"), "RD", "itself"),
        ((*FIRST, "to"), "GN", "'GN' is no lead"),
        ((*FIRST, "meter"), "x" * 300, "meter"),
        (("motors", 0, "facts", "intake", "value"), [], "facts.intake.value: a list"),
        (("motors", 0, "facts", "intake", "value"), {"label": "\ud800"}, "printable text"),
        (("motors", 0, "facts", "intake", "value"), {"label": "\x1b]52;c;eA==\x07"}, "printable text"),
        (("motors", 0, "facts", "intake", "value"), {"lable": "12 V"}, r"intake\.value: 'lable' is not known"),
        (("motors", 0, "facts", "later"), {"value": {"a\u202eb": 1}, "time": "2026-01-01"}, "printable text"),
        (("motors", 0, "facts", "later"), {"value": {"a": 1e308}, "time": "2026-01-01"}, "within reason"),
        (("motors", 0, "facts", "later"), {"value": {"a": NESTED}, "time": "2026-01-01"}, "in one another"),
        ((*FIRST, "ohms"), 1e308, "to 1e"),
        (("motors", 0, "events", 0, "stage"), "a\nb", "stage"),
    ],
)
def test_what_is_unsound_is_named_and_nothing_is_let_in(
    bin_: Bin, exported: dict[str, Any], where: tuple[Any, ...], value: Any, said: str
) -> None:
    with pytest.raises(InputProblem, match=said) as caught:
        import_text(bin_, changed(exported, where, value))
    assert "\n" not in str(caught.value) and len(str(caught.value)) < 300
    assert export_object(bin_) == exported


NO_EXPORT = ["", " \n", "{", "[]", "null", "1", "[" * 100_000, '{"format": 1, "format": 1}', "1" * 5000, '"\ud800"']
NO_EXPORT += ['{"format": "coilbench-bin", "version": 1, "motors": [{"name": 1e999}]}']


@pytest.mark.parametrize("text", NO_EXPORT, ids=range(len(NO_EXPORT)))
def test_what_is_no_export_at_all(bin_: Bin, text: str) -> None:
    with pytest.raises(InputProblem, match="expected"):
        import_text(bin_, text)


ANYTHING = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=5), inner, max_size=2),
    max_leaves=4,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=150)
@given(data=st.data())
def test_no_value_anywhere_can_break_the_import(exported: dict[str, Any], data: st.DataObject) -> None:
    place: Any = exported
    where: list[Any] = []
    while isinstance(place, (dict, list)) and place and (not where or data.draw(st.booleans() | st.just(True))):
        key = data.draw(st.sampled_from(sorted(place) if isinstance(place, dict) else range(len(place))))
        where.append(key)
        place = place[key]
    text = changed(exported, tuple(where), data.draw(ANYTHING))
    with Bin.scratch() as bin_:
        try:
            import_text(bin_, text)
        except InputProblem as problem:
            assert "\n" not in str(problem) and bin_.motors() == []
        else:
            assert export_object(bin_)["motors"] == json.loads(text)["motors"]
