"""What was done to motors as a whole is taken back and done again, row by row, and nothing done since is lost."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from coilbench.errors import InputProblem
from coilbench.records import tidying, writing
from coilbench.records.exchange import export_object
from coilbench.records.opening import problems_of
from coilbench.records.saved.intake import Intake
from coilbench.records.store import Bin
from coilbench.stages.bin.joining import merge, split
from coilbench.stages.bin.notes import archive, archived, delete, write_down
from coilbench.stages.bin.undoing import can_redo, can_undo, redo, undo
from coilbench.stages.desk import Desk
from coilbench.winding.readings.reading import FRAME, Reading

FOUR = ("RD", "BU", "GN", "BK")


@pytest.fixture
def bin_(tmp_path: Path) -> Iterator[Bin]:
    with Bin.open(tmp_path / "motors.db") as opened:
        for name in ("M-01", "M-02"):
            opened.add_motor(name, FOUR)
            for a, b, ohm in (("RD", "BU", 12.5), ("GN", "BK", 12.5), ("RD", FRAME, math.inf)):
                writing.add_reading(opened, name, Reading(a, b, ohm))
        writing.keep(opened, "M-02", "intake", Intake(label="12V"))
        yield opened
    assert problems_of(tmp_path / "motors.db") == []


def kept(bin_: Bin) -> dict[str, dict[str, Any]]:
    return {each["name"]: each for each in export_object(bin_)["motors"]}


ACTS: dict[str, Callable[[Bin], object]] = {
    "M-02 merged into M-01": lambda bin_: merge(bin_, "M-01", "M-02"),
    "M-03 split off M-01": lambda bin_: split(bin_, "M-01", "M-03", ["GN", "BK"]),
    "M-01, M-02 archived": lambda bin_: archive(bin_, ["M-01", "M-02"]),
    "what was noted of M-02": lambda bin_: write_down(Desk(bin_, "M-02"), origin="till"),
    "M-01 deleted": lambda bin_: delete(bin_, ["M-01"]),
}


@pytest.mark.parametrize("what", ACTS)
def test_an_act_is_taken_back_wholly_and_done_again(bin_: Bin, what: str) -> None:
    before = kept(bin_)
    assert not can_undo(bin_) and undo(bin_) is None
    ACTS[what](bin_)
    after = kept(bin_)
    assert after != before and can_undo(bin_) and not can_redo(bin_)
    assert undo(bin_) == what and kept(bin_) == before
    assert bin_.can_undo("M-01") and bin_.can_undo("M-02", "intake")  # the motors' own steps are back, too
    assert redo(bin_) == what and kept(bin_) == after
    assert undo(bin_) == what and kept(bin_) == before
    assert writing.undo(bin_, "M-02") == "what was kept of the intake"


def test_acts_are_taken_back_one_after_the_other_and_a_new_one_ends_what_could_be_done_again(bin_: Bin) -> None:
    for each in ACTS.values():
        if each is not ACTS["M-02 merged into M-01"]:
            each(bin_)
    assert [undo(bin_) for _ in range(5)] == [*reversed([each for each in ACTS if "merged" not in each]), None]
    assert can_redo(bin_)
    archive(bin_, ["M-01"])
    assert not can_redo(bin_) and archived(bin_) == {"M-01"}


def test_what_was_done_since_is_not_lost(bin_: Bin) -> None:
    merge(bin_, "M-01", "M-02")
    writing.add_reading(bin_, "M-01", Reading("GN", FRAME, math.inf))
    Desk(bin_, "M-01").withdraw("intake")
    held = kept(bin_)
    with pytest.raises(InputProblem, match="changed since"):
        undo(bin_)
    assert kept(bin_) == held


def test_a_motor_that_was_worked_on_is_not_taken_away_by_undo(bin_: Bin) -> None:
    split(bin_, "M-01", "M-03", ["GN", "BK"])
    writing.add_reading(bin_, "M-03", Reading("GN", FRAME, math.inf))
    with pytest.raises(InputProblem, match="changed since"):
        undo(bin_)
    assert bin_.motor("M-03").readings == 2


def test_a_name_that_is_taken_meanwhile_is_said(bin_: Bin) -> None:
    delete(bin_, ["M-01"])
    bin_.add_motor("M-01")
    with pytest.raises(InputProblem, match="another motor 'M-01' meanwhile"):
        undo(bin_)
    bin_.rename("M-01", "other")
    assert undo(bin_) == "M-01 deleted" and bin_.motor("M-01").readings == 3


def test_an_act_that_fails_halfway_has_done_nothing(bin_: Bin) -> None:
    before = kept(bin_)
    with pytest.raises(InputProblem):
        archive(bin_, ["M-01", "nobody"])
    with pytest.raises(RuntimeError), tidying.act(bin_, "half", "M-01"):
        bin_.delete_motor("M-01")
        raise RuntimeError
    assert kept(bin_) == before and not can_undo(bin_)


def test_few_acts_are_kept_and_every_program_on_the_bin_can_take_them_back(bin_: Bin) -> None:
    for number in range(tidying.MOST + 2):
        write_down(Desk(bin_, "M-01"), text=f"note {number}")
    with Bin.open(bin_.path) as other:
        taken = list(iter(lambda: undo(other), None))
    assert len(taken) == tidying.MOST and kept(bin_)["M-01"]["facts"]["notes"]["value"] == {"text": "note 1"}
