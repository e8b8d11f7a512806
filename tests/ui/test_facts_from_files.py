"""What comes in from a file either is refused, with its place, or can be shown and worked with."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from functools import reduce
from operator import getitem
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.board.session.drive import check_drivable, driver_cautions, likely_kind, no_current_words
from coilbench.driver.motor import known_motor
from coilbench.errors import CoilbenchError, InputProblem
from coilbench.rating.coil_lines import coil_lines
from coilbench.rating.rate import half_winding_ohm
from coilbench.rating.wiring import idle_leads, phases_known
from coilbench.records.exchange import import_text
from coilbench.records.saved_shapes import EVENTS, FACTS
from coilbench.records.store import Bin
from coilbench.ui.panes import STAGES, idle_stages
from coilbench.ui.panes.jog.flow import left_words, search_begun
from coilbench.ui.panes.jog.setup import first_form
from coilbench.ui.screens.crate import crate_row
from coilbench.ui.screens.sheet import first_stage

LEADS = ["RD", "YE", "BU", "BK", "WH"]
WHEN = "2026-01-02T03:04:05+00:00"
JOG = {
    "drive": {"kind": "array", "form": "full"},
    "microsteps": 1,
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
            "typed": {"face": "42 mm"},
            "soak_event": 0,
        },
        "connection": {
            "connection": "unipolar",
            "current_ampere": 0.2,
            "resistance_ohm": 70.0,
            "inductance_henry": None,
            "wiring": ["WH to supply"],
            "typed": {"driver": "A4988", "drive": "bipolar"},
        },
        "driver": {"chip": "A4988", "sense_ohm": 0.1, "vref_volt": 0.2, "peak_ampere": 0.2, "microsteps": 4},
        "jog": {**JOG, "others": [{**JOG, "drive": {"kind": "driver", "microsteps": 8}}]},
    },
    "events": [
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
    motor = {
        "name": "M-01",
        "leads": LEADS,
        "created": WHEN,
        "readings": [],
        "facts": {stage: {"value": value, "time": WHEN} for stage, value in whole["facts"].items()},
        "events": [{"stage": stage, "value": value, "time": WHEN} for stage, value in whole["events"]],
    }
    return json.dumps({"format": "coilbench-bin", "version": 1, "motors": [motor]})


def places(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in nested plain data."""
    keys = value if isinstance(value, dict) else range(len(value)) if isinstance(value, list | tuple) else ()
    for key in keys:
        yield (*path, key)
        yield from places(value[key], (*path, key))


def read_all(bin_: Bin) -> None:
    """All that looks at saved results without asking; a complaint in words is fine, a crash isn't."""
    facts, events = bin_.facts("M-01"), bin_.events("M-01", "jog")
    windings = facts.get("windings")
    crate_row(bin_, "M-01", tuple(LEADS))
    first_stage(bin_, "M-01")
    idle_stages(facts)
    for spec in STAGES:
        spec.pane_class().summary_lines(bin_, "M-01")
    left_words(events)
    begun = search_begun(events)
    kind = likely_kind(facts)
    for look in (
        lambda: known_motor(facts),
        lambda: half_winding_ohm(windings),
        lambda: idle_leads(windings),
        lambda: phases_known(windings, facts.get("order")),
        lambda: coil_lines("array", facts),
        lambda: coil_lines("bridge", facts),
        lambda: check_drivable(kind, facts),
        lambda: driver_cautions(facts),
        lambda: no_current_words(kind, facts),
        lambda: first_form(facts, begun.value if begun is not None else None),
    ):
        try:
            look()
        except CoilbenchError as problem:
            assert str(problem)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("bins")


def test_what_the_stages_save_is_let_in(tmp_path: Path) -> None:
    with Bin.open(tmp_path / "bin.db") as bin_:
        import_text(bin_, exported(WHOLE))
        read_all(bin_)
        assert set(bin_.facts("M-01")) == set(FACTS) == {spec.fact for spec in STAGES}
    assert {stage for stage, _ in WHOLE["events"]} == set(EVENTS)


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
def test_whatever_stands_there_is_refused_or_can_be_shown(folder: Path, where: tuple[Any, ...], odd: Any) -> None:
    path = folder / "bin.db"
    path.unlink(missing_ok=True)
    with Bin.open(path) as bin_:
        try:
            import_text(bin_, exported(with_odd(where, odd)))
        except InputProblem as problem:
            assert str(problem).startswith("motors[0].") or "digits" in str(problem)
            return
        read_all(bin_)
