"""What an earlier version kept opens, is brought forward, and nothing of it is lost.

``earlier/`` holds the demo's motors after every stage was worked through, by the bench and by commands, as they were
kept before records had types: a bin's file of schema 2, its export of format version 1, and that file as it was
brought to schema 4, before the bench had things of its own.
"""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from coilbench.errors import InputProblem
from coilbench.records import exchange, opening
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.jog import Jog, SavedDrive, SearchBegun, TrialMade
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.ratings import Ratings, SoakEntry
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin

EARLIER = Path(__file__).with_name("earlier")
EXPORT = (EARLIER / "export-1.json").read_text(encoding="utf-8")


@pytest.fixture(params=["schema-2.bin", "schema-4.bin", "export"])
def brought(request: pytest.FixtureRequest, tmp_path: Path) -> Bin:
    path = tmp_path / "bin.db"
    if request.param != "export":
        shutil.copy(EARLIER / request.param, path)
    bin_ = Bin.open(path)
    if request.param == "export":
        exchange.import_text(bin_, EXPORT)
    request.addfinalizer(bin_.close)
    return bin_


def before(motor: str) -> dict[str, Any]:
    found: dict[str, Any] = next(each for each in json.loads(EXPORT)["motors"] if each["name"] == motor)
    return found


def test_everything_but_what_has_another_form_is_as_it_was(brought: Bin) -> None:
    whole = exchange.export_object(brought)
    assert whole["version"] == 4 and whole["bench"] == [] and opening.problems_of(brought.path) == []
    for now, then in zip(whole["motors"], json.loads(EXPORT)["motors"], strict=True):
        for facts in (now["facts"], then["facts"]):
            facts.pop("jog", None)
            facts.get("ratings", {}).get("value", {}).pop("soak_event", None)
            facts.get("ratings", {}).get("value", {}).pop("soak_entries", None)
        assert now == then


def test_every_stage_can_be_read(brought: Bin) -> None:
    known = brought.known("M-02")
    assert all(known.get(kind) is not None for kind in (Windings, Order, Ratings, Connection, Driver, Jog))
    then = {stage: fact["value"] for stage, fact in before("M-02")["facts"].items()}
    ratings, driver = known.get(Ratings), known.get(Driver)
    assert ratings is not None and driver is not None
    assert ratings.typed == then["ratings"]["typed"] and driver.vref_volt == then["driver"]["vref_volt"]
    assert len(brought.entries("M-02", HandTest)) == sum(e["stage"] == "order" for e in before("M-02")["events"])
    assert len(brought.entries("M-02", TrialMade)) == sum(
        e["value"].get("kind") == "trial" for e in before("M-02")["events"]
    )
    assert all(each.value.plan.question in ("start", "run") for each in brought.entries("M-02", SearchBegun))


def test_figures_of_every_drive_are_kept(brought: Bin) -> None:
    jog, then = brought.known("M-02").get(Jog), before("M-02")["facts"]["jog"]["value"]
    assert jog is not None
    assert [each.drive for each in jog.drives] == [SavedDrive(kind="array"), SavedDrive(microsteps=16)]
    assert [each.start_rate_sps for each in jog.drives] == [
        then["start_rate_sps"],
        then["others"][0]["start_rate_sps"],
    ]


def test_entries_of_a_test_that_was_rated_stay_done_and_those_after_it_live(brought: Bin) -> None:
    ratings, entries = brought.known("M-02").get(Ratings), brought.entries("M-02", SoakEntry)
    assert ratings is not None
    assert [each.value.text for each in entries[ratings.soak_entries :]] == ["24.3"]


def test_a_jog_from_before_drives_were_told_apart_is_a_drivers(tmp_path: Path) -> None:
    whole = json.loads(EXPORT)
    whole["motors"] = [before("M-02")]
    jog = whole["motors"][0]["facts"]["jog"]["value"]
    for key in ("drive", "others"):
        del jog[key]
    jog["microsteps"] = 8
    with Bin.open(tmp_path / "bin.db") as bin_:
        exchange.import_text(bin_, json.dumps(whole))
        found = bin_.known("M-02").get(Jog)
    assert found is not None and [each.drive for each in found.drives] == [SavedDrive(microsteps=8)]


@pytest.mark.parametrize("others", [3, "x", [3], {"a": 1}])
def test_what_no_version_wrote_is_refused_with_its_place(tmp_path: Path, others: Any) -> None:
    whole = json.loads(EXPORT)
    next(each for each in whole["motors"] if each["name"] == "M-02")["facts"]["jog"]["value"]["others"] = others
    with Bin.open(tmp_path / "bin.db") as bin_, pytest.raises(InputProblem, match=r"motors\[1\]\.facts\.jog\.value"):
        exchange.import_text(bin_, json.dumps(whole))
