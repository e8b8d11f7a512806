"""A byte of the bin's file that has become another one: told, never a traceback, never another figure."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest

from coilbench.cli import main
from coilbench.records import exchange
from coilbench.records.store import Bin

EXPORT = Path(__file__).with_name("earlier") / "export-1.json"


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, dict[str, Any]]:
    """A worked bin's file, and what it holds."""
    path = tmp_path_factory.mktemp("sound") / "motors.db"
    with Bin.open(path) as bin_:
        exchange.import_text(bin_, EXPORT.read_text(encoding="utf-8"))
        whole = exchange.export_object(bin_)
    return path.read_bytes(), whole


def entries(whole: dict[str, Any]) -> set[str]:
    """Each thing of an export by itself."""
    return {
        json.dumps([each.get("time"), each], sort_keys=True)
        for motor in whole["motors"]
        for each in (*motor["readings"], *motor["facts"].values(), *motor["events"])
    }


def check_flips(
    path: Path, sound: tuple[bytes, dict[str, Any]], seed: int, count: int, capsys: Any
) -> dict[str, int]:
    data, whole = sound
    random_ = random.Random(seed)
    tally = {"sound": 0, "damaged": 0, "entries": 0}
    for _ in range(count):
        place, other = random_.randrange(len(data)), random_.randrange(1, 256)
        flipped = data[:place] + bytes([data[place] ^ other]) + data[place + 1 :]
        path.write_bytes(flipped)
        checked = main(["bin", "--bin", str(path), "check"])
        assert checked in (0, 4) and path.read_bytes() == flipped, place
        capsys.readouterr()
        status = main(["bin", "--bin", str(path), "export"])
        out, err = capsys.readouterr()
        assert status == checked and all(len(line) <= 300 for line in err.splitlines()), place
        got = json.loads(out) if out else {"motors": []}
        assert entries(got) <= entries(whole), place  # nothing else than was written
        if checked == 0:
            assert got == whole, place
            tally["sound"] += 1
        else:
            assert err, place
            tally["damaged"] += 1
            tally["entries"] += len(entries(got))
        for command in (["list"], ["show", "M-02"]):
            assert main(["bin", "--bin", str(path), *command]) == checked, place
        capsys.readouterr()
        for beside in path.parent.iterdir():
            beside.unlink()
    return tally


def test_some_flips(tmp_path: Path, sound: tuple[bytes, dict[str, Any]], capsys: Any) -> None:
    tally = check_flips(tmp_path / "motors.db", sound, 1, 30, capsys)
    assert tally["damaged"] > 5 and tally["entries"] > 0.8 * tally["damaged"] * len(entries(sound[1]))


@pytest.mark.long("hostile")
def test_three_hundred_flips(tmp_path: Path, sound: tuple[bytes, dict[str, Any]], capsys: Any) -> None:
    tally = check_flips(tmp_path / "motors.db", sound, 2, 300, capsys)
    assert tally["damaged"] > 50 and tally["entries"] > 0.8 * tally["damaged"] * len(entries(sound[1]))
