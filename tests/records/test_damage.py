"""A file that is damaged, newer or somebody else's is told of, left as it is, and has a way on."""

import sqlite3
from pathlib import Path

import pytest

from coilbench.records import opening, schema, writing
from coilbench.records.problems import BinBusy, BinDamaged, BinNewer, BinUnreachable
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

MOTOR = "M-07"


@pytest.fixture
def filled(path: Path) -> Path:
    """A closed bin of several pages."""
    with Bin.open(path) as bin_:
        bin_.add_motor(MOTOR, ["RD", "BU"])
        with bin_.writing() as connection:
            connection.executemany(
                """INSERT INTO readings (motor_id, a, b, ohm, meter, kind, time)
                VALUES (1, 'RD', 'BU', ?, '', 'ohms', '')""",
                [(number,) for number in range(2000)],
            )
    return path


def cut_short(data: bytes) -> bytes:
    return data[: len(data) // 2]


def overwritten_head(data: bytes) -> bytes:
    return b"\x00" * 100 + data[100:]


def overwritten_middle(data: bytes) -> bytes:
    return data[:8192] + b"\xff" * 20_000 + data[28_192:]


def another_kind(data: bytes) -> bytes:
    return b"from,to,ohms\nRD,BU,48.2\n"


@pytest.mark.parametrize("harm", [cut_short, overwritten_head, overwritten_middle, another_kind])
def test_a_damaged_file_is_left_as_it_is(filled: Path, harm) -> None:
    harmed = harm(filled.read_bytes())
    filled.write_bytes(harmed)
    for _ in range(2):
        with pytest.raises(BinDamaged) as caught:
            Bin.open(filled)
        assert filled.read_bytes() == harmed
    assert "\n" not in str(caught.value) and str(filled) in str(caught.value) and "--set-aside" in caught.value.remedy
    assert opening.problems_of(filled) != []
    moved = opening.set_aside(filled)
    assert moved.read_bytes() == harmed and not filled.exists()
    with Bin.open(filled) as fresh:
        assert fresh.motors() == []


def test_setting_aside_takes_the_log_along_and_never_overwrites(filled: Path) -> None:
    beside = filled.with_name(filled.name + "-wal")
    moved = []
    for _ in range(3):
        filled.write_bytes(b"no bin")
        beside.write_bytes(b"a log")
        moved.append(opening.set_aside(filled))
    assert len(set(moved)) == 3
    assert all(each.with_name(each.name + "-wal").read_bytes() == b"a log" for each in moved)
    assert not beside.exists()


def test_a_newer_file_is_left_as_it_is(filled: Path) -> None:
    with sqlite3.connect(filled) as connection:
        connection.execute(f"PRAGMA user_version = {schema.VERSION + 1}")
    connection.close()
    before = filled.read_bytes()
    with pytest.raises(BinNewer, match=f"schema {schema.VERSION + 1}"):
        Bin.open(filled)
    assert filled.read_bytes() == before


def test_the_database_of_another_program_is_left_as_it_is(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE songs (name TEXT)")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(BinDamaged, match="another program"):
        Bin.open(path)
    assert path.read_bytes() == before


def test_a_folder_or_a_place_without_rights_is_told(tmp_path: Path) -> None:
    with pytest.raises(BinUnreachable, match="folder"):
        Bin.open(tmp_path)
    (tmp_path / "file").write_text("")
    with pytest.raises(BinUnreachable):
        Bin.open(tmp_path / "file" / "motors.db")


def test_an_empty_file_becomes_a_bin(path: Path) -> None:
    path.parent.mkdir()
    path.touch()
    with Bin.open(path) as bin_:
        assert bin_.motors() == []


def test_a_bin_held_by_another_program_is_told_and_unchanged(path: Path) -> None:
    with Bin.open(path, busy_seconds=0.05) as bin_, Bin.open(path) as other, other.writing():
        with pytest.raises(BinBusy):
            bin_.add_motor(MOTOR)
        assert bin_.motors() == []


def test_a_full_disk_is_told_and_nothing_is_half_done(path: Path) -> None:
    with Bin.open(path) as bin_:
        bin_.add_motor(MOTOR, ["RD", "BU"])
        with bin_.reading() as connection:
            pages = connection.execute("PRAGMA page_count").fetchone()[0]
            connection.execute(f"PRAGMA max_page_count = {pages}")
        added = 0
        with pytest.raises(BinUnreachable, match="full"):
            while True:
                writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))
                added += 1
        assert len(bin_.readings(MOTOR)) == added
        with bin_.reading() as connection:
            connection.execute("PRAGMA max_page_count = 100000")
        writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))


@pytest.mark.parametrize("version", range(1, schema.VERSION))
def test_an_older_file_is_brought_forward_with_all_it_holds(tmp_path: Path, version: int) -> None:
    path = tmp_path / "old.db"
    connection = sqlite3.connect(path)
    schema.bring_forward(connection, schema.STEPS[:version])
    connection.execute("INSERT INTO motors (name, leads, created) VALUES ('M-07', '[\"RD\", \"BU\"]', '2026-01-01')")
    connection.execute(
        "INSERT INTO readings (motor_id, a, b, ohm, meter, kind, time) VALUES (1, 'RD', 'BU', 48.2, '', 'ohms', '')"
    )
    connection.commit()
    connection.close()
    with Bin.open(path) as bin_:
        assert bin_.motor(MOTOR).leads == ("RD", "BU") and bin_.readings(MOTOR)[0].ohm == 48.2
        writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.3))
        assert writing.undo(bin_, MOTOR) == "reading RD BU"


def test_a_step_that_fails_leaves_the_old_file(filled: Path) -> None:
    steps = (*schema.STEPS, ("CREATE TABLE extra (a)", "DROP TABLE readings", "nonsense"))
    with Bin.open(filled) as bin_:
        before = list(bin_.readings(MOTOR))
        with bin_.reading() as connection, pytest.raises(sqlite3.OperationalError):
            schema.bring_forward(connection, steps)
        assert bin_.readings(MOTOR) == before
    with Bin.open(filled) as bin_:
        assert bin_.readings(MOTOR) == before
