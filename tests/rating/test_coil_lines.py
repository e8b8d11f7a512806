"""Leads on four coil lines, and what to mind there."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.rating.coil_lines import ARRAY_LINE_AMPERE, coil_cautions, coil_lines
from coilbench.rating.wiring import Phase, paired_phases, phases_around, plain_phases, tapped_phases

SWITCHED = ("1", "3", "4", "2")
FOUR = plain_phases((("1", "2"), ("3", "4")))
SIX = tapped_phases(((("1", "2"), "5"), (("3", "4"), "6")))
FIVE = phases_around("5", SWITCHED)
EIGHT = paired_phases({"A": (("1", "1'"), ("3'", "3")), "B": (("2", "2'"), ("4", "4'"))})


@pytest.mark.parametrize(
    ("switch", "need_order", "phases", "sequence", "connection", "leads", "supply"),
    [
        ("array", False, SIX, (), None, ("1", "3", "2", "4"), ("5", "6")),
        ("array", False, SIX, ("1", "4", "2", "3"), None, ("1", "4", "2", "3"), ("5", "6")),
        ("array", True, FIVE, SWITCHED, None, ("1", "3", "4", "2"), ("5",)),
        ("array", True, EIGHT, ("1", "2", "3", "4'"), None, ("1", "2", "3", "4'"), ("1'", "3'", "2'", "4")),
        ("bridge", False, FOUR, (), None, ("1", "3", "2", "4"), ()),
        ("bridge", False, SIX, (), None, ("1", "3", "5", "6"), ()),  # a half each, where nothing else was chosen
        ("bridge", False, SIX, (), "series", ("1", "3", "2", "4"), ()),
        ("bridge", True, EIGHT, ("1", "2", "3", "4'"), "parallel", ("1 + 3'", "2 + 4", "1' + 3", "2' + 4'"), ()),
    ],
)
def test_leads_on_lines(
    switch: Any,
    need_order: bool,
    phases: tuple[Phase, ...],
    sequence: tuple[str, ...],
    connection: Any,
    leads: tuple[str, ...],
    supply: tuple[str, ...],
) -> None:
    laid = coil_lines(switch, need_order, phases, sequence, connection)
    assert laid.leads == leads and laid.supply == supply


@pytest.mark.parametrize(
    ("switch", "need_order", "phases", "says"),
    [
        ("array", False, (), "sort the windings"),
        ("array", True, phases_around("5", ()), "order stage"),
        ("array", True, paired_phases({}), "order stage"),
        ("array", False, FOUR, "take the dual H-bridge"),
        ("bridge", True, FIVE, "take the transistor array"),
    ],
)
def test_what_is_not_known_or_can_not_be_is_said(
    switch: Any, need_order: bool, phases: tuple[Phase, ...], says: str
) -> None:
    laid = coil_lines(switch, need_order, phases, (), None)
    assert not laid.leads and says in laid.doubt


def test_cautions_name_this_motors_figures() -> None:
    lines = " ".join(coil_cautions("array", 0.7, 12.0))
    assert "8.4 V" in lines and "0.7 A is too much" in lines  # 0.7 A x 12 ohm
    lines = " ".join(coil_cautions("array", ARRAY_LINE_AMPERE, 12.0))
    assert "too much" not in lines
    assert "rated volts" in coil_cautions("bridge", None, None)[0]
    assert "freewheel diodes" in " ".join(coil_cautions("bridge", None, None))
