"""What the stages keep is one act for undo, whatever it is made of."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import HandTest
from coilbench.records.saved.ratings import Ratings, SoakEntry
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

MOTOR = "M-07"
FIRST, SECOND = Driver(chip="A4988", peak_ampere=0.8), Driver(chip="DRV8825", peak_ampere=0.8)


def test_another_chip_is_taken_back_and_done_again(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "driver", FIRST)
    writing.keep(bin_, MOTOR, "driver", SECOND)
    assert writing.undo(bin_, MOTOR, "driver") == "what was kept of the driver"
    assert bin_.known(MOTOR).get(Driver) == FIRST
    writing.redo(bin_, MOTOR, "driver")
    assert bin_.known(MOTOR).get(Driver) == SECOND
    writing.undo(bin_, MOTOR, "driver")
    writing.undo(bin_, MOTOR, "driver")
    assert "driver" not in bin_.known(MOTOR) and writing.undo(bin_, MOTOR, "driver") is None


def test_what_is_kept_at_once_is_taken_back_at_once(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 17"))
    writing.keep(bin_, MOTOR, "ratings", Ratings(current_ampere=0.5), Intake(frame="NEMA 23"))
    assert writing.undo(bin_, MOTOR, "ratings") == "what was kept of the intake, what was kept of the ratings"
    assert bin_.known(MOTOR).get(Intake) == Intake(frame="NEMA 17") and "ratings" not in bin_.known(MOTOR)
    writing.redo(bin_, MOTOR, "ratings")
    assert bin_.known(MOTOR).get(Intake) == Intake(frame="NEMA 23")


def test_undo_leaves_what_another_stage_has_written_since(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "ratings", Ratings(current_ampere=0.5), Intake(frame="NEMA 23"))
    writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 34"))
    writing.undo(bin_, MOTOR, "ratings")
    assert bin_.known(MOTOR).get(Intake) == Intake(frame="NEMA 34") and "ratings" not in bin_.known(MOTOR)


def test_the_same_again_is_no_act(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "driver", FIRST)
    writing.keep(bin_, MOTOR, "driver", FIRST)
    writing.undo(bin_, MOTOR, "driver")
    assert "driver" not in bin_.known(MOTOR)


def test_what_follows_from_readings_is_no_act_of_its_own(bin_: Bin) -> None:
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.2))
    writing.derive(bin_, MOTOR, Windings(arrangement="unknown"))
    assert writing.undo(bin_, MOTOR, "windings") == "reading RD BU"
    assert bin_.readings(MOTOR) == [] and bin_.known(MOTOR).get(Windings) == Windings(arrangement="unknown")
    writing.withdraw(bin_, MOTOR, "windings")
    assert "windings" not in bin_.known(MOTOR)


def test_a_fact_kept_anew_after_undo_stays_when_the_old_one_is_done_again(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "ratings", Ratings(current_ampere=0.5), Intake(frame="NEMA 23"))
    writing.undo(bin_, MOTOR, "ratings")
    writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 17"))
    writing.redo(bin_, MOTOR, "ratings")
    assert bin_.known(MOTOR).get(Intake) == Intake(frame="NEMA 17")
    assert bin_.known(MOTOR).get(Ratings) == Ratings(current_ampere=0.5)


def test_leads_and_fact_are_one_act(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "intake", Intake(), leads=["RD", "BU"])
    writing.undo(bin_, MOTOR, "intake")
    assert bin_.motor(MOTOR).leads == ("RD", "BU", "WH") and "intake" not in bin_.known(MOTOR)


def test_nothing_is_half_kept(bin_: Bin) -> None:
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.2))
    with pytest.raises(InputProblem, match="has readings"):
        writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 17"), leads=["WH"])
    assert "intake" not in bin_.known(MOTOR) and bin_.motor(MOTOR).leads == ("RD", "BU", "WH")


def test_events_keep_their_order_and_undo_survives_a_restart(bin_: Bin, path: Path) -> None:
    tests = [HandTest(kind="twitch", reference="RD", touched=lead, answer="cw") for lead in ("BU", "WH")]
    for each in tests:
        writing.add_event(bin_, MOTOR, each)
    writing.add_event(bin_, MOTOR, SoakEntry(soak="off"))
    with Bin.open(path) as other:
        assert [each.value for each in other.entries(MOTOR, HandTest)] == tests
        assert writing.undo(other, MOTOR, "order") == "test"
        assert [each.value for each in other.entries(MOTOR, HandTest)] == tests[:1]
        assert [each.value.soak for each in other.entries(MOTOR, SoakEntry)] == ["off"]


def test_a_scratch_bin_keeps_what_a_bin_keeps_and_leaves_nothing() -> None:
    bin_ = Bin.scratch()
    bin_.add_motor("this motor", ["RD", "BU"])
    writing.add_reading(bin_, "this motor", Reading("RD", "BU", math.inf))
    writing.keep(bin_, "this motor", "driver", FIRST)
    assert bin_.readings("this motor")[0].ohm == math.inf and bin_.known("this motor").get(Driver) == FIRST
    assert not bin_.read_only and not Path(":memory:").exists()
    bin_.close()
