"""What comes in from a file either is refused, with its place, or every stage can work with it."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from datetime import date
from functools import reduce
from operator import getitem
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.errors import CoilbenchError, InputProblem
from coilbench.records.exchange import import_text
from coilbench.records.saved import decode
from coilbench.records.store import Bin
from coilbench.stages import motor
from coilbench.stages.bin.alike import groups
from coilbench.stages.bin.table import as_csv, table_rows
from coilbench.stages.card.card import card_of
from coilbench.stages.card.html import cards_html, labels_html
from coilbench.stages.card.markdown import card_markdown
from coilbench.stages.card.state import Card, as_json
from coilbench.stages.card.text import card_text
from coilbench.stages.desk import Desk
from coilbench.stages.form import FormStage
from coilbench.stages.jog.stage import JogStage
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.overview import overview, warning
from coilbench.stages.stage import Stage
from coilbench.stages.table import STAGES, next_row, not_needed
from coilbench.stages.windings.stage import WindingsStage

LEADS = ["RD", "YE", "BU", "BK", "WH"]
WHEN = "2026-01-02T03:04:05+00:00"
FIGURES = {
    "drive": {"kind": "array", "form": "full"},
    "start_rate_sps": 420.0,
    "run_rate_sps": None,
    "working_rate_sps": 420.0,
    "acceleration_sps2": None,
    "interval": [400.0, 500.0],
    "resonance_sps": [110],
    "resonance_bands_sps": [[100.0, 121.0]],
    "proved": {"start": 20},
    "shaft": {"steps_per_turn": 48, "gear": 1.0, "flag_on": "output"},
}
PLAN = {
    "question": "start",
    "lowest": 50.0,
    "highest": 5000.0,
    "shaft": {"steps_per_turn": 48},
    "avoid": [[100, 121]],
}
TRIAL = {
    "question": "start",
    "tested": 420.0,
    "steps": 72,
    "start_rate_sps": 420.0,
    "run_rate_sps": 420.0,
    "acceleration_sps2": 2000.0,
    "back_rate_sps": 40.0,
    "dwell_s": 0.5,
}
WHOLE: dict[str, Any] = {
    "facts": {
        "intake": {"frame": "NEMA 17", "label": "vent", "diameter_metre": None, "length_metre": 0.03},
        "windings": {
            "arrangement": "unipolar-5",
            "confidence": 0.99,
            "coils": [
                {"name": name, "ends": ["WH", end], "tap": None, "ohms": 70.0, "ohms_sd": 0.5}
                for name, end in zip("ABCD", LEADS, strict=False)
            ],
            "common": "WH",
            "spare": [],
            "faults": [{"kind": "uneven", "leads": ["RD"]}],
        },
        "order": {"sequence": LEADS[:4], "reverse": LEADS[3::-1], "phases": [["RD", "BU"]], "halves": None},
        "ratings": {
            "current_ampere": 0.2,
            "low_ampere": 0.1,
            "high_ampere": 0.3,
            "resistance_ohm": 70.0,
            "inductance_henry": None,
            "holding_torque_newton_metre": 0.03,
            "step_angle_degree": 7.5,
            "inertia_kilogram_metre2": 10e-7,
            "basis": ["surface"],
            "typed": {"coil": "70 ohm"},
            "soak_entries": 0,
        },
        "connection": {
            "connection": "unipolar",
            "current_ampere": 0.2,
            "resistance_ohm": 70.0,
            "inductance_henry": None,
            "wiring": ["WH to supply"],
            "typed": {"driver": "A4988", "drive": "bipolar"},
        },
        "driver": {
            "chip": "A4988",
            "sense_ohm": 0.1,
            "vref_volt": 0.2,
            "peak_ampere": 0.2,
            "microsteps": 4,
            "typed": {"chip": "A4988", "sense": "R100", "steps": "4"},
        },
        "jog": {"drives": [FIGURES, {**FIGURES, "drive": {"kind": "driver", "microsteps": 8}}]},
        "notes": {"origin": "printer", "photo": "a.jpg", "text": "hums", "archived": True},
    },
    "events": [
        ("windings", {"a": "RD", "b": "BU", "henry": 5e-3, "henry_sd": 2e-4}),
        ("order", {"kind": "twitch", "reference": "RD", "touched": "BU", "answer": "cw"}),
        ("ratings", {"soak": "cold", "text": "70 ohm"}),
        ("ratings", {"soak": "cooling", "second": 30, "text": "80 ohm"}),
        ("jog", {"kind": "turn", "turned": "clockwise"}),
        ("jog", {"kind": "begin", "plan": PLAN, "drive": {"kind": "array", "form": "full"}}),
        (
            "jog",
            {
                "kind": "trial",
                "by": "eye",
                "trial": TRIAL,
                "outcome": {"kind": "off", "jumps": 1, "missed_steps": -3.9},
            },
        ),
        ("jog", {"kind": "end", "so_far": "300 to 500 steps/s"}),
    ],
}


def exported(whole: dict[str, Any]) -> str:
    """A bin's export with one motor of which this is saved."""
    described = {
        "name": "M-01",
        "leads": LEADS,
        "created": WHEN,
        "readings": [],
        "facts": {stage: {"value": value, "time": WHEN} for stage, value in whole["facts"].items()},
        "events": [{"stage": stage, "value": value, "time": WHEN} for stage, value in whole["events"]],
    }
    return json.dumps({"format": "coilbench-bin", "version": 2, "motors": [described]})


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in nested plain data."""
    keys = value if isinstance(value, dict) else range(len(value)) if isinstance(value, list | tuple) else ()
    for key in keys:
        yield (*path, key)
        yield from places(value[key], (*path, key))


def work_with(bin_: Bin) -> None:
    """All that looks at what is saved without asking; a complaint in words is fine, a crash isn't."""
    desk = Desk(bin_, "M-01")
    known = desk.known
    overview(bin_, bin_.motor("M-01"))
    next_row(known)
    not_needed(known)
    warning(known)
    for row in STAGES:
        row.stage_class().summary(known)
    looks: list[Callable[[], object]] = [lambda row=row: at_work(row.stage_class()(desk)) for row in STAGES]  # type: ignore[misc]
    looks += [
        lambda: written(card_of(desk, date(2026, 3, 4))),
        lambda: as_csv(table_rows(bin_)),
        lambda: groups(bin_),
    ]
    looks += [lambda: motor.as_connected(known), lambda: motor.phases(known), lambda: motor.idle_leads(known)]
    for look in looks:
        try:
            look()
        except CoilbenchError as problem:
            assert str(problem)


def written(card: Card) -> object:
    """A card in every medium."""
    return cards_html([card]), labels_html([card.label]), card_markdown(card), card_text(card, 72), as_json(card)


def at_work(stage: Stage) -> object:
    """What a stage says when it is opened."""
    match stage:
        case FormStage():
            return stage.answer(stage.texts())
        case WindingsStage():
            return stage.work_out()
        case OrderStage():
            return stage.state, stage.sentences()
        case JogStage():
            return stage.texts(), stage.scene, stage.known_now
    raise AssertionError(f"nothing is known of how {stage.id} is opened")


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bins")


def test_what_the_stages_save_is_let_in(tmp_path: Path) -> None:
    with Bin.open(tmp_path / "bin.db") as bin_:
        import_text(bin_, exported(WHOLE))
        work_with(bin_)
        assert set(WHOLE["facts"]) == decode.stages() == {*(row.id for row in STAGES), "notes"}
    with_events = {stage for stage in decode.stages() if decode.shapes(stage)[1] is not None}
    assert {stage for stage, _ in WHOLE["events"]} == with_events


GONE = object()
TEXTS, NUMBERS = ("", "x", "\x1b[2J"), (True, -1, 0, 2.5, 1e300, 10**400)
ODD: list[Any] = [GONE, None, *NUMBERS, *TEXTS, [], ["x"], [["x", 1]], {}, {"x": 1}]
# All that a stage saved, and every value in it; what stands around them is the exchange's own test.
FACT_PLACES = [("facts", *path) for path in places(WHOLE["facts"])]
EVENT_PLACES = [
    ("events", number, 1, *path) for number, (_, value) in enumerate(WHOLE["events"]) for path in places(value)
]


def with_odd(where: tuple[Any, ...], odd: Any) -> dict[str, Any]:
    """All of it, but for one value."""
    whole: dict[str, Any] = json.loads(json.dumps(WHOLE))
    *before, last = where
    inner = reduce(getitem, before, whole)
    if odd is GONE and isinstance(inner, dict):
        del inner[last]
    else:
        inner[last] = {} if odd is GONE else copy.deepcopy(odd)
    return whole


@settings(max_examples=200, deadline=None)
@given(where=st.sampled_from(FACT_PLACES + EVENT_PLACES), odd=st.sampled_from(ODD))
def test_whatever_stands_there_is_refused_or_can_be_worked_with(
    folder: Path, where: tuple[Any, ...], odd: Any
) -> None:
    path = folder / "bin.db"
    path.unlink(missing_ok=True)
    with Bin.open(path) as bin_:
        try:
            import_text(bin_, exported(with_odd(where, odd)))
        except InputProblem as problem:
            assert str(problem).startswith("motors[0].") or "digits" in str(problem)
            return
        work_with(bin_)
