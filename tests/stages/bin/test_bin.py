"""Notes, archive, table, likeness, merging and splitting: a bin kept in order."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.notes import Notes
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.records.store import Bin
from coilbench.stages.bin.alike import groups
from coilbench.stages.bin.joining import merge, split
from coilbench.stages.bin.notes import archived, write_down
from coilbench.stages.bin.table import HEADERS, as_csv, table_rows
from coilbench.stages.desk import Desk
from coilbench.winding.readings.reading import FRAME, Reading
from tests.support import cards
from tests.support.motors import FIVE, SIX

LEADS = ("BK", "YE", "GN", "RD", "WH", "BU")


@pytest.fixture
def bin_(tmp_path: Path) -> Iterator[Bin]:
    with Bin.open(tmp_path / "motors.db") as opened:
        yield opened


def four(ohm: float, **more: object) -> Windings:
    coils = tuple(Coil(name=n, ends=e, ohms=ohm) for n, e in (("A", ("RD", "BU")), ("B", ("GN", "BK"))))
    return replace(Windings(arrangement="bipolar-4", confidence=0.99, coils=coils, readings=5), **more)  # type: ignore[arg-type]


def read(bin_: Bin, name: str, *rows: tuple[str, str, float]) -> None:
    for a, b, ohm in rows:
        writing.add_reading(bin_, name, Reading(a, b, ohm))


def test_a_note_leaves_what_it_does_not_say_and_can_be_undone(bin_: Bin) -> None:
    desk = Desk(bin_, bin_.add_motor("M-01").name)
    write_down(desk, origin="wide\x1b printer", text="hums")
    assert write_down(desk, photo="a.jpg") == Notes(origin="wide printer", photo="a.jpg", text="hums")
    assert write_down(desk, text="").text == "" and archived(bin_) == frozenset()
    write_down(desk, archived=True)
    assert archived(bin_) == {"M-01"}
    desk.undo("notes")
    assert archived(bin_) == frozenset() and desk.known.get(Notes) == Notes(origin="wide printer", photo="a.jpg")


def test_no_cell_of_the_table_is_taken_for_a_formula(bin_: Bin) -> None:
    cards.whole(bin_)
    for number, text in enumerate(
        ("=1+1", "+1", "-1", "@x", " =cmd|' /C calc'!A0", "＝1", "a,b\nc", 'q"uote', "\t=1", "x; =1;+2")
    ):
        name = cards.put(bin_, f"{text.strip()[:3]} {number}".strip() or "x", ("=1", "+2"))
        write_down(Desk(bin_, name), origin=text, text=text)
    text = as_csv(table_rows(bin_))
    header, first, *rest = csv.reader(io.StringIO(text))
    assert tuple(header) == HEADERS and len(rest) == 10
    whole = dict(zip(header, first, strict=True))
    assert (whole["motor"], whole["vref_v"], whole["ohms_half_winding"]) == ("M-02", "0.1864", "24.1")
    assert (whole["run_steps_per_s"], whole["from"]) == ("1900", "wide printer, carriage")
    for row in rest:
        assert len(row) == len(HEADERS)
        assert not [cell for cell in row if cell.lstrip().startswith(("=", "+", "-", "@", "＝"))]
        assert not [cell for part in row for cell in part.split(";") if cell.lstrip().startswith(("=", "+"))]


def test_motors_of_one_type_are_found_and_faulty_or_unlike_ones_left_out(bin_: Bin) -> None:
    for name, windings, intake in (
        ("a", four(2.4), Intake(frame="NEMA 17")),
        ("b", four(2.6), Intake()),
        ("c", four(2.5), Intake(frame="nema  17", step_angle_degree=1.8)),
        ("other face", four(2.5), Intake(frame="NEMA 23")),
        ("other angle", four(2.5), Intake(frame="NEMA 17", step_angle_degree=0.9)),
        ("faulty", four(2.4, faults=(WindingFault(kind="open", leads=("RD",)),)), Intake()),
        ("far", four(3.6), Intake()),
        ("six", SIX, Intake()),
        ("six too", SIX, Intake()),
    ):
        cards.put(bin_, name, LEADS, windings, intake)
    bin_.add_motor("unsorted")
    first, second = groups(bin_)
    assert set(first.motors) == {"a", "b", "c"} and first.face == "nema 17" and first.step_angle_degree == 1.8
    assert (first.low_ohm, first.high_ohm) == (2.4, 2.6) and set(second.motors) == {"six", "six too"}


def test_two_records_of_one_motor_become_one_and_its_windings_follow_from_all_readings(bin_: Bin) -> None:
    for name in ("M-01", "M-02"):
        bin_.add_motor(name, ("RD", "BU", "GN", "BK"))
    read(bin_, "M-01", ("RD", "BU", 12.5), ("RD", "GN", math.inf), ("RD", "BK", math.inf), ("probes", "probes", 0.2))
    read(bin_, "M-02", ("GN", "BK", 12.5), ("RD", "BU", 12.5), ("RD", FRAME, math.inf), ("GN", FRAME, math.inf))
    write_down(Desk(bin_, "M-01"), origin="scanner")
    write_down(Desk(bin_, "M-02"), origin="printer")
    writing.derive(bin_, "M-02", Intake(label="12V"))
    done = merge(bin_, "M-01", "M-02")
    known = bin_.known("M-01")
    assert [each.name for each in bin_.motors()] == ["M-01"] and len(bin_.readings("M-01")) == 8
    assert known.get(Notes) == Notes(origin="scanner") and known.get(Intake) == Intake(label="12V")
    assert done.took == ("intake",) and not bin_.can_undo("M-01")
    windings = known.get(Windings)
    assert windings is not None and windings.arrangement == "bipolar-4" and windings.confidence > 0.95
    with Bin.open(done.backup) as before:
        assert [each.name for each in before.motors()] == ["M-01", "M-02"]


def test_two_motors_are_not_made_one(bin_: Bin) -> None:
    leads = ("RD", "BU", "GN", "BK")
    cards.put(bin_, "a", leads, four(2.4))
    cards.put(bin_, "b", leads, four(4.8))
    cards.put(bin_, "c", ("RD", "YE", "BU", "BK", "WH"), FIVE)
    cards.put(bin_, "d", ("1", "2"))
    for other, why in (("a", "one record"), ("b", "2.4 and 4.8 ohm"), ("c", "unipolar-5"), ("d", "other leads")):
        with pytest.raises(InputProblem, match=why):
            merge(bin_, "a", other)
    assert len(bin_.motors()) == 4


def test_a_record_of_two_motors_is_split_between_its_leads(bin_: Bin) -> None:
    bin_.add_motor("M-01", ("1", "2", "3", "4", "5", "6", "7", "8"))
    read(bin_, "M-01", ("1", "2", 2.4), ("3", "4", 2.4), ("1", "3", math.inf), ("5", "6", 30.0), ("7", "8", 30.0))
    read(bin_, "M-01", ("1", "5", math.inf), ("5", FRAME, math.inf), ("probes", "probes", 0.2))
    write_down(Desk(bin_, "M-01"), origin="box of two")
    writing.derive(bin_, "M-01", four(2.4))
    done = split(bin_, "M-01", "M-02", ["5", "6", "7", "8"])
    pairs = {name: [(each.a, each.b) for each in bin_.readings(name)] for name in ("M-01", "M-02")}
    assert pairs["M-01"] == [("1", "2"), ("3", "4"), ("1", "3"), ("probes", "probes")]
    assert pairs["M-02"] == [("5", "6"), ("7", "8"), ("5", FRAME)]
    assert bin_.motor("M-01").leads == ("1", "2", "3", "4") and bin_.motor("M-02").leads == ("5", "6", "7", "8")
    assert done.took == ("windings",) and bin_.known("M-01").get(Notes) == Notes(origin="box of two")


def test_leads_that_belong_together_are_not_split(bin_: Bin) -> None:
    bin_.add_motor("M-01", ("1", "2", "3", "4"))
    bin_.add_motor("M-02")
    read(bin_, "M-01", ("1", "2", 2.4))
    for new, leads, why in (
        ("M-03", ["2", "3"], "2.4 ohm between them"),
        ("M-03", ["1"], "two leads or more on either side"),
        ("M-03", ["1", "2", "3", "4"], "two leads or more on either side"),
        ("M-03", ["9", "3"], "'9' is no lead"),
        ("M-02", ["3", "4"], "already"),
    ):
        with pytest.raises(InputProblem, match=why):
            split(bin_, "M-01", new, leads)
    assert bin_.motor("M-01").leads == ("1", "2", "3", "4") and len(bin_.readings("M-01")) == 1
