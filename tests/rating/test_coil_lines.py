"""Leads on four coil lines, and what to mind there."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.rating.coil_lines import ARRAY_LINE_AMPERE, CoilLines, coil_cautions, coil_lines
from coilbench.rating.wiring import phases_known

FOUR = {
    "arrangement": "bipolar-4",
    "coils": [{"name": "A", "ends": ["1", "2"], "tap": None}, {"name": "B", "ends": ["3", "4"], "tap": None}],
}
SIX = {
    "arrangement": "unipolar-6",
    "coils": [{"name": "A", "ends": ["1", "2"], "tap": "5"}, {"name": "B", "ends": ["3", "4"], "tap": "6"}],
}
FIVE = {
    "arrangement": "unipolar-5",
    "common": "5",
    "coils": [{"name": n, "ends": ["5", n], "tap": None} for n in "1234"],
}
EIGHT = {"arrangement": "split-8", "coils": [{"name": n, "ends": [n, n + "'"], "tap": None} for n in "1234"]}
HALVES = {
    "halves": {"A": [["1", "1'"], ["3'", "3"]], "B": [["2", "2'"], ["4", "4'"]]},
    "sequence": ["1", "2", "3", "4'"],
}


def laid_out(switch: Any, facts: dict[str, Any]) -> CoilLines:
    windings, order = facts.get("windings", {}), facts.get("order", {})
    phases, connection = phases_known(windings, order), facts.get("connection", {}).get("connection")
    return coil_lines(switch, windings.get("arrangement", "unknown"), phases, order.get("sequence", ()), connection)


PARALLEL = {"windings": EIGHT, "order": HALVES, "connection": {"connection": "parallel"}}


@pytest.mark.parametrize(
    ("switch", "facts", "leads", "supply"),
    [
        ("array", {"windings": SIX}, ("1", "3", "2", "4"), ("5", "6")),
        ("array", {"windings": SIX, "order": {"sequence": ["1", "4", "2", "3"]}}, ("1", "4", "2", "3"), ("5", "6")),
        ("array", {"windings": FIVE, "order": {"sequence": ["1", "3", "4", "2"]}}, ("1", "3", "4", "2"), ("5",)),
        ("array", {"windings": EIGHT, "order": HALVES}, ("1", "2", "3", "4'"), ("1'", "3'", "2'", "4")),
        ("bridge", {"windings": FOUR}, ("1", "3", "2", "4"), ()),
        ("bridge", {"windings": SIX}, ("1", "3", "5", "6"), ()),  # a half each, where nothing else was chosen
        ("bridge", {"windings": SIX, "connection": {"connection": "series"}}, ("1", "3", "2", "4"), ()),
        ("bridge", PARALLEL, ("1 + 3'", "2 + 4", "1' + 3", "2' + 4'"), ()),
    ],
)
def test_leads_on_lines(switch: Any, facts: dict[str, Any], leads: tuple[str, ...], supply: tuple[str, ...]) -> None:
    laid = laid_out(switch, facts)
    assert laid.leads == leads and laid.supply == supply


@pytest.mark.parametrize(
    ("switch", "facts", "says"),
    [
        ("array", {}, "sort the windings"),
        ("array", {"windings": FIVE}, "order stage"),
        ("array", {"windings": EIGHT}, "order stage"),
        ("array", {"windings": FOUR}, "take the dual H-bridge"),
        ("bridge", {"windings": FIVE, "order": {"sequence": ["1", "3", "4", "2"]}}, "take the transistor array"),
    ],
)
def test_what_is_not_known_or_can_not_be_is_said(switch: Any, facts: dict[str, Any], says: str) -> None:
    laid = laid_out(switch, facts)
    assert not laid.leads and says in laid.doubt


def test_cautions_name_this_motors_figures() -> None:
    lines = " ".join(coil_cautions("array", 0.7, 12.0))
    assert "8.4 V" in lines and "0.7 A is too much" in lines  # 0.7 A x 12 ohm
    lines = " ".join(coil_cautions("array", ARRAY_LINE_AMPERE, 12.0))
    assert "too much" not in lines
    assert "rated volts" in coil_cautions("bridge", None, None)[0]
    assert "freewheel diodes" in " ".join(coil_cautions("bridge", None, None))
