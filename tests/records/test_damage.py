"""A file that is damaged, newer or somebody else's is told of, left as it is, and has a way on."""

import json
import math
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from coilbench.errors import InputProblem
from coilbench.records import opening, rescue, schema, writing
from coilbench.records.problems import BinBusy, BinDamaged, BinNewer, BinUnreachable
from coilbench.records.saved.intake import Intake
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
    assert (
        "\n" not in str(caught.value)
        and str(filled) in caught.value.happened
        and "--set-aside" in caught.value.remedy
    )
    assert opening.problems_of(filled) != []
    if not opening.has_mark(filled):
        with pytest.raises(InputProblem, match="no motor bin"):
            opening.set_aside(filled)
        assert filled.read_bytes() == harmed
        return
    moved = opening.set_aside(filled)
    assert moved.read_bytes() == harmed and not filled.exists()
    with Bin.open(filled) as fresh:
        assert fresh.motors() == []


def test_setting_aside_takes_the_log_along_and_never_overwrites(filled: Path) -> None:
    beside = filled.with_name(filled.name + "-wal")
    moved = []
    for _ in range(3):
        filled.write_bytes(b"CREATE TABLE motors (, and no more")
        beside.write_bytes(b"a log")
        moved.append(opening.set_aside(filled))
    assert len(set(moved)) == 3
    assert all(each.with_name(each.name + "-wal").read_bytes() == b"a log" for each in moved)
    assert not beside.exists()


def test_a_newer_file_is_left_as_it_is(filled: Path) -> None:
    connection = sqlite3.connect(filled, isolation_level=None)
    schema.bring_forward(connection, (*schema.STEPS, ("CREATE TABLE later (a)",)))
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


def test_a_damaged_row_can_neither_be_changed_nor_passed_over(path: Path) -> None:
    with Bin.open(path) as bin_:
        bin_.add_motor(MOTOR, ["RD", "BU"])
        saved = writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 2.4))
        with bin_.reading() as connection:
            connection.execute("DROP TRIGGER readings_whole")
            connection.execute("DROP TRIGGER readings_changed")
            connection.execute("UPDATE readings SET ohm = 2.384375")
            connection.execute("UPDATE tables_crc SET crc = crc")
        with Bin.scratch() as model, model.reading() as made, bin_.reading() as connection:
            for (sql,) in made.execute("SELECT sql FROM sqlite_schema WHERE name IN (?, ?) ORDER BY rowid",
                                       ["readings_whole", "readings_changed"]).fetchall():  # fmt: skip
                connection.execute(sql)
        with pytest.raises(BinDamaged, match="readings"):
            writing.edit_reading(bin_, saved, 2.5)
    with pytest.raises(BinDamaged, match="1 of readings is not what was written"):
        Bin.open(path)
    found = rescue.rescued(path)
    assert found.whole["motors"][0]["readings"] == [] and found.lost == ["row 1 of readings: not what was written"]


def test_a_motor_whose_own_row_is_lost_keeps_its_readings(path: Path) -> None:
    with Bin.open(path) as bin_:
        for name, ohm in (("M-07", 48.2), ("M-08", 24.1)):
            bin_.add_motor(name, ["RD", "BU"])
            writing.add_reading(bin_, name, Reading("RD", "BU", ohm))
            writing.add_reading(bin_, name, Reading("RD", "frame", math.inf))
    data = path.read_bytes()
    at = data.index(b'M-08["RD", "BU"]')
    path.write_bytes(data[:at] + b"X" + data[at + 1 :])
    found = rescue.rescued(path)
    assert [each["name"] for each in found.whole["motors"]] == ["M-07", "rescued 2"]
    second = found.whole["motors"][1]
    assert second["leads"] == ["RD", "BU"] and [each["ohms"] for each in second["readings"]] == [24.1, "OL"]
    assert any("'X-08'" in line for line in found.lost)


def test_an_older_file_that_is_damaged_is_not_sealed_as_whole(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    connection = sqlite3.connect(path)
    connection.execute("PRAGMA journal_mode = WAL")
    schema.bring_forward(connection, schema.STEPS[:3])
    connection.execute("INSERT INTO motors (name, leads, created) VALUES ('M-07', '[\"RD\", \"BU', '2026-01-01')")
    connection.execute("INSERT INTO motors (name, leads, created) VALUES ('M-08', '[\"RD\"]', '2026-01-01')")
    connection.commit()
    connection.close()
    before = path.read_bytes()
    with pytest.raises(BinDamaged):
        Bin.open(path)
    assert path.read_bytes() == before
    found = rescue.rescued(path)
    assert [each["name"] for each in found.whole["motors"]] == ["M-08"] and "motor 1" in found.lost[0]


def test_what_drives_a_terminal_is_taken_out_when_an_older_file_is_brought_forward(tmp_path: Path) -> None:
    path = tmp_path / "old.db"
    connection = sqlite3.connect(path)
    schema.bring_forward(connection, schema.STEPS[:3])
    connection.execute("INSERT INTO motors (name, leads, created) VALUES ('M-07', '[\"RD\"]', '2026-01-01')")
    value = json.dumps({"label": "12\u00a0V \x1b]52;c;eA==\x07\u202e"})
    connection.execute("INSERT INTO facts (motor_id, stage, value, time) VALUES (1, 'intake', ?, '')", [value])
    connection.commit()
    connection.close()
    with Bin.open(path) as bin_:
        assert bin_.known(MOTOR).get(Intake) == Intake(label="12 V ]52;c;eA==")


def test_the_file_and_its_folder_are_the_persons_own(path: Path) -> None:
    with Bin.open(path) as bin_:
        bin_.add_motor(MOTOR)
        modes = {each.name: each.stat().st_mode & 0o777 for each in (path.parent, *path.parent.iterdir())}
    assert modes.pop(path.parent.name) == 0o700 and len(modes) == 3 and set(modes.values()) == {0o600}


FULL_DISK = """
import resource, sys
from pathlib import Path
from coilbench.cli import main
resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))  # no file can grow, as on a full disk
sys.exit(main(["bin", "--bin", sys.argv[1], *sys.argv[2:]]))
"""


NEARLY_FULL = """
import resource, sys
from pathlib import Path
from coilbench.errors import CoilbenchError
from coilbench.records.store import Bin
for room in (2000, 8192, 40000):
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, resource.RLIM_INFINITY))
    try:
        Bin.open(Path(sys.argv[1]) / f"{room}.db").add_motor("M-07")
    except CoilbenchError as problem:
        print(problem)
"""


def test_a_disk_too_full_for_a_new_bin_is_told(tmp_path: Path) -> None:
    ran = [sys.executable, "-c", NEARLY_FULL, str(tmp_path)]
    done = subprocess.run(ran, capture_output=True, text=True, check=True)
    said = done.stdout.splitlines()
    assert len(said) == 3 and all("the space left" in line or "make room" in line for line in said)
    assert not any("an older" in line or "rollback" in line for line in said), said


@pytest.mark.parametrize("log", ["written back", "left by a kill"])
def test_on_a_full_disk_the_bin_is_read_and_exported_elsewhere(path: Path, log: str) -> None:
    bin_ = Bin.open(path)
    bin_.add_motor(MOTOR, ["RD", "BU"])
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.2))
    if log == "left by a kill":
        log_file = path.with_name(path.name + "-wal")
        kept = log_file.read_bytes()
        data = path.read_bytes()
        bin_.close()
        path.write_bytes(data)
        log_file.write_bytes(kept)
    bin_.close()
    for action in (["list", "--json"], ["export"], ["show", MOTOR], ["check"]):
        done = subprocess.run([sys.executable, "-c", FULL_DISK, str(path), *action], capture_output=True, text=True,
                              check=False)  # fmt: skip
        assert done.returncode == 0 and done.stderr == "" and (MOTOR in done.stdout or action == ["check"])
    with Bin.open(path) as again:
        assert again.readings(MOTOR)[0].ohm == 48.2
