"""What is at the bench: told once, the usual one taken by every motor to come, corrected where it was typed wrong."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from coilbench.errors import InputProblem
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.own import OwnDriver, OwnMeter, OwnSupply
from coilbench.records.store import Bin
from coilbench.stages.at_bench import bring, driver_with
from coilbench.stages.bench import KINDS, OwnThings, kind_called
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.jog.stage import JogStage
from coilbench.stages.windings.stage import WindingsStage

DRIVER, SUPPLY, METER = (kind_called(each) for each in ("driver", "supply", "meter"))


@pytest.fixture
def bin_(tmp_path: Path) -> Iterator[Bin]:
    with Bin.open(tmp_path / "bin.db") as bin_:
        for name in ("vent", "turntable", "feeder"):
            bin_.add_motor(name, ["RD", "BU", "WH", "BK"])
        yield bin_


def set_driver(bin_: Bin, motor: str, **texts: str) -> DriverStage:
    stage = DriverStage(Desk(bin_, motor))
    stage.keep({**stage.texts(), "current": "0.8 A", **texts})
    return stage


def test_the_next_motor_starts_from_the_driver_of_the_first(bin_: Bin) -> None:
    stage = set_driver(bin_, "vent", chip="a4988", sense="R100", supply="12 V", sink="yes")
    assert stage.remembered == (
        "remembered at your bench: A4988, sense R100, heat sink",
        "remembered at your bench: 12 V",
    )
    following = DriverStage(Desk(bin_, "turntable"))
    texts = following.texts()
    assert [texts[each] for each in ("chip", "sense", "supply", "sink")] == ["A4988", "R100", "12 V", "yes"]
    assert set(following.taken) == {"chip", "sense", "supply", "sink"}
    connection = ConnectionStage(Desk(bin_, "turntable")).texts()
    assert (connection["driver"], connection["supply"]) == ("A4988", "12 V")
    assert set_driver(bin_, "turntable").remembered == ()
    assert len(bin_.own().things) == 2


def test_a_marking_corrected_at_the_motor_it_was_typed_for_is_corrected_at_the_bench(bin_: Bin) -> None:
    """A wrong sense resistor taken by the next motor would set twice the current."""
    set_driver(bin_, "vent", chip="A4988", sense="R100")
    set_driver(bin_, "vent", sense="R050")
    assert [each for each in bin_.own() if isinstance(each, OwnDriver)] == [
        OwnDriver(name="A4988 R050", usual=True, noted_at="vent", chip="A4988", sense="R050")
    ]
    set_driver(bin_, "turntable", sense="R068")  # another board of the same chip
    assert [(each.name, each.usual) for each in bin_.own()] == [("A4988 R050", True), ("A4988 R068", False)]
    set_driver(bin_, "vent", chip="DRV8825", sense="R100")  # another driver, nothing corrected
    assert [each.name for each in bin_.own()] == ["A4988 R050", "A4988 R068", "DRV8825 R100"]


def test_what_was_changed_by_hand_is_not_put_right_by_a_motor(bin_: Bin) -> None:
    set_driver(bin_, "vent", chip="A4988", sense="R100")
    OwnThings(bin_).change(DRIVER, "A4988 R100", {"sense": "R068"})
    set_driver(bin_, "vent", sense="R050")
    assert [(each.name, each.usual) for each in bin_.own()] == [("A4988 R068", True), ("A4988 R050", False)]


def test_a_chip_chosen_for_a_motor_brings_its_own_resistor_or_none(bin_: Bin) -> None:
    things = OwnThings(bin_)
    things.add(DRIVER, {"chip": "A4988", "sense": "R100"})
    things.add(DRIVER, {"chip": "DRV8825", "sense": "R050", "name": "big one"})
    stage = DriverStage(Desk(bin_, "vent"))
    first = stage.texts()
    assert (first["chip"], first["sense"]) == ("A4988", "R100")
    other = stage.with_chip(first, "drv8825")
    assert (other["chip"], other["sense"]) == ("drv8825", "R050")
    unknown_here = stage.with_chip(other, "LV8729")
    assert (unknown_here["chip"], unknown_here["sense"]) == ("LV8729", "") and "sense" not in stage.taken
    things.add(DRIVER, {"chip": "DRV8825", "sense": "R100"})
    assert driver_with(bin_.own(), "DRV8825") is None  # of two with the same chip none is guessed


def test_what_is_known_of_a_motor_stays_when_the_bench_changes(bin_: Bin) -> None:
    set_driver(bin_, "vent", chip="A4988", sense="R100", supply="12 V")
    things = OwnThings(bin_)
    things.add(DRIVER, {"chip": "DRV8825", "sense": "R100"}, usual=True)
    stage = DriverStage(Desk(bin_, "vent"))
    assert stage.texts()["chip"] == "A4988" and not stage.taken
    assert DriverStage(Desk(bin_, "turntable")).texts()["chip"] == "DRV8825"


def test_a_driver_typed_at_the_connection_goes_before_the_usual_one(bin_: Bin) -> None:
    OwnThings(bin_).add(DRIVER, {"chip": "A4988", "sense": "R100"})
    desk = Desk(bin_, "vent")
    for typed in ("DRV8825", "1.5 A"):
        desk.keep(
            "connection", Connection(connection="bipolar", current_ampere=0.5, typed={"driver": typed, "supply": "9"})
        )
        texts = DriverStage(desk).texts()
        assert texts["sense"] == "" and texts["supply"] == "9 V"
        assert texts["chip"] == ("DRV8825" if typed == "DRV8825" else "")


def test_one_of_each_kind_is_usual_whatever_is_done(bin_: Bin) -> None:
    things = OwnThings(bin_)
    assert things.add(SUPPLY, {"supply": "12"}).usual
    assert not things.add(SUPPLY, {"supply": "24 V", "name": " brick  "}).usual
    assert things.add(SUPPLY, {"supply": "24"}).name == "24 V"
    things.make_usual(SUPPLY, "brick")
    usual = bin_.own().usual(OwnSupply)
    assert usual is not None and usual.name == "brick"
    assert [each.usual for each in things.of(SUPPLY)] == [False, True, False]
    things.remove(SUPPLY, "brick")
    assert [(each.name, each.usual) for each in things.of(SUPPLY)] == [("12 V", True), ("24 V", False)]
    with pytest.raises(InputProblem, match="there is a supply '24 V' already"):
        things.change(SUPPLY, "12 V", {"name": "24 V"})
    assert things.change(SUPPLY, "12 V", {"supply": "19 V"}).name == "19 V"
    with pytest.raises(InputProblem, match="no supply '12 V' at the bench"):
        things.remove(SUPPLY, "12 V")


@pytest.mark.parametrize(
    ("kind", "texts"),
    [
        ("driver", {}),
        ("driver", {"chip": "A4989"}),
        ("driver", {"chip": "A4988", "sense": "blue"}),
        ("driver", {"chip": "A4988", "sense": "R100", "sink": "big"}),
        ("supply", {"supply": "12 A"}),
        ("supply", {"supply": ""}),
        ("meter", {"accuracy": "good"}),
        ("board", {"port": " "}),
        ("watch", {"watch": "ear"}),
        ("supply", {"supply": "12 V", "name": "x\x1b]0;"}),
    ],
)
def test_what_cannot_be_read_is_refused_and_nothing_kept(bin_: Bin, kind: str, texts: dict[str, str]) -> None:
    with pytest.raises(InputProblem):
        OwnThings(bin_).add(kind_called(kind), texts)
    assert bin_.own().things == ()


def test_every_kind_can_be_told_listed_and_told_again(bin_: Bin) -> None:
    things = OwnThings(bin_)
    told = {"driver": {"chip": "A4988"}, "supply": {"supply": "12 V"}, "meter": {"accuracy": "1 % + 0.2 ohm"},
            "board": {"port": "/dev/ttyACM0"}, "watch": {"watch": "sensor"}}  # fmt: skip
    for kind in KINDS:
        kept = things.add(kind, told[kind.id])
        assert kind.read(kind.texts(kept)).kind == kept.kind == kind.id
    assert [row[:2] for row in things.rows()] == [
        ("driver", "A4988"),
        ("supply", "12 V"),
        ("meter", "1 % + 0.2 ohm"),
        ("board", "ttyACM0"),
        ("watch", "index sensor"),
    ]
    jog = JogStage(Desk(bin_, "vent"))
    assert jog.texts()["watch"] == "sensor" and jog.own_board is not None and jog.own_board.port == "/dev/ttyACM0"


def test_readings_are_judged_and_kept_with_the_usual_meter_unless_another_is_stated(bin_: Bin) -> None:
    OwnThings(bin_).add(METER, {"accuracy": "3 % + 0.4 ohm"})
    stage = WindingsStage(Desk(bin_, "vent"))
    assert stage.snapshot().meters == ("3 % + 0.4 ohm",)
    stage.work_out()
    stage.enter("12.3")
    assert bin_.readings("vent")[0].meter == "3 % + 0.4 ohm"
    stated = WindingsStage(Desk(bin_, "vent"), meter="1% + 0.2 ohm")
    assert stated.own_meter is None and stated.snapshot().meters[-1] == "1% + 0.2 ohm"


def test_a_motor_kept_nowhere_has_the_bench_of_the_bin(bin_: Bin, tmp_path: Path) -> None:
    OwnThings(bin_).add(METER, {"accuracy": "1% + 0.2 ohm"})
    desk = scratch_desk()
    with desk.bin:
        bring(desk, tmp_path / "bin.db")
        assert desk.own.usual(OwnMeter) == bin_.own().usual(OwnMeter)
        bring(desk, tmp_path / "none.db")
    assert not (tmp_path / "none.db").exists()
