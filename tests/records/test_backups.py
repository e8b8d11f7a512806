"""Copies of the bin: made by themselves, few, whole, and put back by one call."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from coilbench.errors import InputProblem
from coilbench.records import backups, opening, writing
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

NOON = datetime(2026, 3, 4, 12, tzinfo=UTC)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "motors.db"
    with Bin.open(path) as bin_:
        bin_.add_motor("M-01", ["RD", "BU"])
    return path


def made(path: Path, *times: datetime) -> None:
    with Bin.open(path) as bin_, bin_.reading() as connection:
        for time in times:
            backups.make(connection, path, time)


def test_the_first_entry_of_a_days_work_is_preceded_by_a_copy(path: Path) -> None:
    assert backups.backups(path) == []  # a bin that was empty has nothing to lose
    with Bin.open(path) as bin_:
        for ohm in (1.0, 2.0):
            writing.add_reading(bin_, "M-01", Reading("RD", "BU", ohm))
    (copy,) = backups.backups(path)
    with Bin.open(copy.path) as before:
        assert before.motor("M-01").readings == 0
    with Bin.open(path) as bin_:
        writing.add_reading(bin_, "M-01", Reading("RD", "BU", 3.0))
    assert backups.backups(path) == [copy]  # one a day


def test_looking_makes_none(path: Path) -> None:
    with Bin.open(path) as bin_:
        bin_.motors()
        bin_.known("M-01")
    assert not backups.folder_of(path).exists()


def test_few_stay_and_a_day_of_tidying_up_pushes_no_day_out(path: Path) -> None:
    made(path, *(NOON - timedelta(days=day) for day in range(9, 0, -1)))
    assert len(backups.backups(path)) == backups.MOST
    made(path, *(NOON + timedelta(minutes=minute) for minute in range(20)))
    kept = backups.backups(path)
    assert len(kept) == backups.MOST
    assert [each.made for each in kept[:3]] == [NOON + timedelta(minutes=minute) for minute in (19, 18, 17)]
    assert {(NOON - timedelta(days=day)).date() for day in (1, 2, 3)} <= {each.made.date() for each in kept}
    assert sorted(each.name for each in kept) == sorted(each.name for each in backups.folder_of(path).iterdir())


def test_a_clock_that_went_back_hinders_no_copy(path: Path) -> None:
    made(path, NOON + timedelta(days=400))
    with Bin.open(path) as bin_, bin_.reading() as connection:
        backups.make_if_due(connection, path, NOON)
    assert len(backups.backups(path)) == 2


def test_where_no_copy_can_be_made_entries_are_kept(path: Path) -> None:
    backups.folder_of(path).write_text("in the way")
    with Bin.open(path) as bin_:
        writing.add_reading(bin_, "M-01", Reading("RD", "BU", 2.0))
        bin_.add_motor("M-02")
        bin_.delete_motor("M-02")
        assert bin_.motor("M-01").readings == 1


def test_a_deleted_motor_is_in_the_newest_copy_and_comes_back(path: Path) -> None:
    with Bin.open(path) as bin_:
        bin_.delete_motor("M-01")
        assert bin_.motors() == []
    backups.restore(path, backups.chosen(path, None), NOON)
    with Bin.open(path) as bin_:
        assert [each.name for each in bin_.motors()] == ["M-01"]


def test_an_open_bench_sees_what_was_restored_and_what_was_there_is_kept(path: Path) -> None:
    made(path, NOON)
    with Bin.open(path) as bench:
        bench.add_motor("M-02")
        seen = bench.seen()
        kept = backups.restore(path, backups.chosen(path, None), NOON + timedelta(hours=1))
        assert [each.name for each in bench.motors()] == ["M-01"] and bench.seen() != seen
        bench.add_motor("M-03")
    assert kept is not None and opening.problems_of(kept) == opening.problems_of(path) == []
    with Bin.open(kept) as before:
        assert [each.name for each in before.motors()] == ["M-01", "M-02"]


def test_a_damaged_bin_is_set_aside_before(path: Path) -> None:
    made(path, NOON)
    path.write_bytes(b"spilt coffee")
    kept = backups.restore(path, backups.chosen(path, None), NOON)
    assert kept is not None and kept.read_bytes() == b"spilt coffee"
    with Bin.open(path) as bin_:
        assert [each.name for each in bin_.motors()] == ["M-01"]


def test_a_damaged_copy_is_refused(path: Path) -> None:
    with pytest.raises(InputProblem, match="no backup of"):
        backups.chosen(path, None)
    made(path, NOON)
    with pytest.raises(InputProblem, match=r"expected one of 20260304T120000Z\.db"):
        backups.chosen(path, "../../other.db")
    (copy,) = backups.backups(path)
    copy.path.write_bytes(b"spilt coffee")
    with pytest.raises(InputProblem, match="another one by its name"):
        backups.chosen(path, copy.name)
