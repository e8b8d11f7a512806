"""Conversions between connections against papers that print several, the choice, and wiring by lead name."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.rating.connections import connection_rows
from coilbench.rating.wiring import (
    deciding_test,
    paired_phases,
    phases_around,
    plain_phases,
    tapped_phases,
    wires,
)


def _half_digit(text):
    """Half a unit of the last digit printed."""
    return 0.5 * 10 ** -len(text.partition(".")[2])


def test_printed_ratings_within_their_rounding(printed_connections):
    base = {row["part"]: row for row in printed_connections if row["connection"] == "unipolar"}
    checked = 0
    for row in printed_connections:
        half = base[row["part"]]
        made = connection_rows(
            int(row["leads"]),
            float(half["coil_ohm"]),
            float(half["current_ampere"]),
            float(half["inductance_mh"]) / 1000,
        )
        ours = next(each for each in made if each.connection == row["connection"])
        # The half-winding's own figures are rounded too.
        slack = 1 + _half_digit(half["current_ampere"]) / float(half["current_ampere"])
        printed = float(row["current_ampere"])
        assert (
            abs(ours.ampere - printed) <= _half_digit(row["current_ampere"]) + 1e-9
            or printed / slack <= ours.ampere <= printed * slack
        )
        assert ours.ohm == pytest.approx(float(row["coil_ohm"]), abs=_half_digit(row["coil_ohm"]))
        assert ours.henry * 1000 == pytest.approx(float(row["inductance_mh"]), abs=_half_digit(row["inductance_mh"]))
        if row["holding_newton_metre"]:
            torque = float(row["holding_newton_metre"]) / float(half["holding_newton_metre"])
            assert ours.torque_relative == pytest.approx(torque, rel=0.02)  # iron saturates a little
        checked += 1
    assert checked == 10


# Anaheim Automation: MDM60001 user's manual, p. 7: series 0.7, parallel 1.4 of the unipolar rating.
def test_printed_rule_of_thumb():
    rows = {row.connection: row for row in connection_rows(8, 1.0, 1.0)}
    assert round(rows["series"].ampere, 1) == 0.7
    assert round(rows["parallel"].ampere, 1) == 1.4
    assert rows["half-coil"].ampere == rows["unipolar"].ampere == 1.0


# IMS: IM483 manual, pp. 37-38, speaks of peak: series at the unipolar figure, parallel at twice it.
def test_the_peak_convention_is_kept_apart():
    rows = {row.connection: row for row in connection_rows(8, 1.4, 3.0)}
    assert rows["series"].equal_heat_peak_ampere == pytest.approx(3.0)
    assert rows["parallel"].equal_heat_peak_ampere == pytest.approx(2 * 3.0)


@given(
    ohm=st.floats(0.1, 100),
    ampere=st.floats(0.05, 1),
    henry=st.floats(1e-4, 0.1),
    leads=st.sampled_from([4, 5, 6, 8]),
)
def test_equal_heat_in_every_row(ohm, ampere, henry, leads):
    rows = connection_rows(leads, ohm, ampere, henry)
    heat = 2 * ampere**2 * ohm
    for row in rows:
        assert row.watt == pytest.approx(heat)
        assert row.watt == pytest.approx(2 * row.ampere * row.volt)
        assert row.equal_heat_peak_ampere == pytest.approx(math.sqrt(2) * row.ampere)
        # Torque goes with ampere-turns, turns with the root of the inductance.
        assert row.torque_relative == pytest.approx(math.sqrt(row.henry / henry) * row.ampere / ampere)


@pytest.mark.parametrize(
    ("leads", "names"),
    [
        (4, ["bipolar"]),
        (5, ["unipolar"]),
        (6, ["half-coil", "series", "unipolar"]),
        (8, ["half-coil", "series", "parallel", "unipolar"]),
    ],
)
def test_what_each_lead_count_allows(leads, names):
    assert [row.connection for row in connection_rows(leads, 3.0, 1.0)] == names


@pytest.mark.parametrize(
    ("leads", "ohm", "ampere", "henry"),
    [
        (7, 1, 1, None),
        (3, 1, 1, None),
        (8, 0, 1, None),
        (8, 1, -1, None),
        (8, 1, 1, 0),
        (8, math.inf, 1, None),
        (6, 5000, 3, None),
    ],
)
def test_absurd_motors_are_refused(leads, ohm, ampere, henry):
    with pytest.raises(InputProblem):
        connection_rows(leads, ohm, ampere, henry)


SIX = tapped_phases(((("red", "blue"), "white"), (("green", "black"), "yellow")))
EIGHT = paired_phases({"A": (("RD", "YE"), ("BU", "BK")), "B": (("WH", "OG"), ("BN", "GN"))})


def _laid(connection, phases):
    return {(wire.where, frozenset(wire.leads)) for wire in wires(connection, phases)}


def test_the_printed_eight_lead_scheme():
    # 23-305-DS8A: drawing of 2007-05-13: A red, A' yellow; C blue, C' black: series joins yellow and blue, parallel
    # joins red and blue, yellow and black.
    series = _laid("series", EIGHT)
    assert ("join", frozenset({"YE", "BU"})) in series
    assert ("A+", frozenset({"RD"})) in series
    assert ("A-", frozenset({"BK"})) in series
    parallel = _laid("parallel", EIGHT)
    assert ("A+", frozenset({"RD", "BU"})) in parallel
    assert ("A-", frozenset({"YE", "BK"})) in parallel


def test_six_leads_by_name():
    assert _laid("series", SIX) >= {
        ("A+", frozenset({"red"})),
        ("A-", frozenset({"blue"})),
        ("insulate", frozenset({"white"})),
    }
    assert _laid("half-coil", SIX) >= {("A-", frozenset({"white"})), ("insulate", frozenset({"blue"}))}
    assert ("supply +", frozenset({"white", "yellow"})) in _laid("unipolar", SIX)


def test_every_lead_goes_somewhere_once():
    for phases, connections in (
        (SIX, ("half-coil", "series", "unipolar")),
        (EIGHT, ("half-coil", "series", "parallel", "unipolar")),
    ):
        names = {
            lead for phase in phases for half in (phase.first, phase.second) for lead in (half.start, half.finish)
        }
        for connection in connections:
            laid = [lead for wire in wires(connection, phases) for lead in wire.leads]
            assert sorted(laid) == sorted(names), connection


def test_no_wiring_before_pairing_is_known():
    assert paired_phases({}) == ()
    assert plain_phases((("1", "2"),)) == ()
    assert tapped_phases(()) == ()
    assert wires("unipolar", ()) == ()
    assert "cell" in deciding_test(8)
    assert deciding_test(6) is None


def test_five_leads_wire_once_the_sequence_is_known():
    assert phases_around("red", ()) == ()
    phases = phases_around("red", ("BU", "PK", "YE", "OG"))
    # The small geared 5 V motor (weak: a data sheet without its maker's name): blue and yellow are one phase, pink
    # and orange the other.
    assert _laid("unipolar", phases) >= {
        ("supply +", frozenset({"red"})),
        ("A1", frozenset({"BU"})),
        ("A2", frozenset({"YE"})),
    }
