"""A lower rating must not leave a connection or a driver that were kept for more current unmentioned."""

from __future__ import annotations

from coilbench.records.saved.driver import Driver
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.outdated import outdated


def six_leads(current_ampere: float) -> Desk:
    desk = scratch_desk(["1", "2", "3", "4", "5", "6"])
    coils = (
        Coil(name="A", ends=("1", "2"), tap="5", ohms=48.0),
        Coil(name="B", ends=("3", "4"), tap="6", ohms=48.0),
    )
    desk.derive(Windings(arrangement="unipolar-6", confidence=1.0, coils=coils))
    desk.keep("ratings", Ratings(current_ampere=current_ampere, resistance_ohm=24.0))
    return desk


def set_up(desk: Desk, **typed: str) -> None:
    for stage in (ConnectionStage(desk), DriverStage(desk)):
        more = {} if stage.id == "connection" else {"chip": "A4988", "sense": "R100", "supply": "12 V"} | typed
        stage.keep({**stage.texts(), **more})


def test_a_rating_of_its_own_stage_is_followed_one_stage_after_the_other() -> None:
    desk = six_leads(0.33)
    set_up(desk)
    assert not outdated(desk)
    desk.keep("ratings", Ratings(current_ampere=0.2, resistance_ohm=24.0))
    # A series connection takes 1 / sqrt 2 of a half-winding's current at the same heat.
    assert outdated(desk) == "the connection is kept for 0.233 A, now it comes to 0.141 A: go there and save it again"
    connection = ConnectionStage(desk)
    connection.keep(connection.texts())
    assert outdated(desk).startswith("the driver is kept for 0.233 A, now it comes to 0.141 A")
    driver = DriverStage(desk)
    driver.keep(driver.texts())
    assert not outdated(desk)


def test_a_current_typed_on_purpose_is_nobodys_mistake() -> None:
    desk = six_leads(0.33)
    set_up(desk, current="0.15 A")
    assert not outdated(desk)
    saved = desk.known.get(Driver)
    assert saved is not None and saved.peak_ampere == 0.15


def test_nothing_rated_nothing_outdated() -> None:
    desk = scratch_desk(["1", "2"])
    assert not outdated(desk)
