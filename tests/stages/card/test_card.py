"""What a card says of a motor: figures with their conditions, nothing that must not be set, what isn't known."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

import pytest

from coilbench.records import writing
from coilbench.records.saved.jog import Jog, SavedSwing
from coilbench.records.store import Bin
from coilbench.stages.card.card import CAUTIONS, card_of
from coilbench.stages.card.state import Card, as_json
from coilbench.stages.desk import Desk
from coilbench.stages.driver.stage import DriverStage
from tests.support import cards

DAY = date(2026, 3, 4)


@pytest.fixture
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as opened:
        yield opened


def said(card: Card) -> dict[str, str]:
    return {f"{part.title}: {each.name}": each.text for part in card.sections for each in part.entries}


def test_all_that_is_known_is_said_once(bin_: Bin) -> None:
    card = card_of(Desk(bin_, cards.whole(bin_)), DAY)
    told = said(card)
    assert (card.motor, card.kind, card.day, card.warnings) == ("M-02", "unipolar-6", "2026-03-04", ())
    assert card.drawn == "connected: series" and card.picture is not None and "A+ ■── RD" in card.picture.text(70)
    assert told["motor: from"] == "wide printer, carriage" and told["motor: photo"] == "photos/m02.jpg"
    assert told["rating: start with"] == "0.33 A RMS a half-winding, two phases on"
    assert told["rating: best"] == "0.41 A RMS, 0.33 A to 0.5 A"
    assert told["connection: current"] == "0.233 A peak a winding"
    assert told["driver: set"] == "VREF 0.186 V" and told["driver: chip"] == "A4988, sense R100 (0.1 Ω)"
    assert told["driver: current"] == "0.233 A peak, 0.165 A RMS microstepping"
    where = "with a load, 24 V, 0.233 A peak, 1/16 steps"
    assert told["working rates: start-stop"] == f"640 steps/s, 192 rpm; {where}, proved 5 times"
    assert told["working rates: resonance"] == "avoid 92 to 118 steps/s"
    assert told["windings: faults"] == "none found" and told["windings: to the case"] == "open by the meter"
    assert card.not_known == () and card.cautions == CAUTIONS


def test_leads_stand_in_the_order_of_the_driver(bin_: Bin) -> None:
    card = card_of(Desk(bin_, cards.whole(bin_)), DAY)
    rows = [(each.lead, each.colour, each.place, each.goes) for each in card.leads]
    assert rows == [
        ("RD", "red", "A end", "A+"),
        ("BU", "blue", "A end", "A−"),
        ("GN", "green", "B end", "B+"),
        ("BK", "black", "B end", "B−"),
        ("WH", "white", "A tap", "insulate"),
        ("YE", "yellow", "B tap", "insulate"),
    ]
    assert card.label.leads[0] == ("RD", "A+")
    assert card.label.figures == ("0.233 A peak, rated 0.233 A RMS", "VREF 0.186 V on A4988 R100", "24 V, 1/16")


def test_joined_halves_name_each_other(bin_: Bin) -> None:
    card = card_of(Desk(bin_, cards.eight(bin_, connection="series")), DAY)
    goes = {each.lead: each.goes for each in card.leads}
    assert goes["YE"] == "join BU" and goes["BU"] == "join YE" and goes["RD"] == "A+"


def test_what_is_not_known_is_said_to_be(bin_: Bin) -> None:
    card = card_of(Desk(bin_, cards.unsorted(bin_)), DAY)
    assert card.picture is None and set(said(card).values()) == {""}
    assert "driver: set" in card.not_known and "working rates: resonance" in card.not_known
    assert card.label.figures == ("current not known", "VREF not known")
    plain = as_json(card)
    assert plain["sections"][0]["entries"][0] == {"name": "from", "text": None} and plain["leads"][0]["goes"] is None


def test_one_that_must_not_be_powered_has_nothing_to_set(bin_: Bin) -> None:
    """Though connection and driver were kept before the leak was found."""
    card = card_of(Desk(bin_, cards.leaky(bin_)), DAY)
    assert card.warnings[0].startswith("do not power this motor: RD conducts to the case")
    assert [part.title for part in card.sections] == ["motor", "windings"] and card.cautions == ()
    assert all(each.goes == "" for each in card.leads) and card.drawn == "the windings; not to be connected"
    assert card.label.stop.startswith("do not power") and card.label.figures == card.label.leads == ()
    assert "VREF" not in str(as_json(card))


def test_a_setting_that_has_changed_since_is_said_to_be_stale(bin_: Bin) -> None:
    name = cards.whole(bin_)
    writing.derive(bin_, name, replace(cards.SET, supply_volt=12.0))
    card = card_of(Desk(bin_, name), DAY)
    assert "24 V then, 12 V now" in said(card)["working rates: slew"] and "STALE" in said(card)["working rates: slew"]
    assert "find it again" in card.warnings[0] and card.label.figures[0].startswith("OUT OF DATE")


def test_resonance_that_was_looked_for_is_no_unknown(bin_: Bin) -> None:
    name = cards.whole(bin_)
    quiet = replace(cards.BY_DRIVER, resonance_sps=(), resonance_bands_sps=(), scanned=False)
    swung = replace(quiet, swings=(SavedSwing(hz=173.0, low_hz=150.0, high_hz=199.0),))
    measured = "it swings at 173 Hz (150 to 199), bare shaft: shakes in full steps near that"
    cases = ((replace(quiet, scanned=True), "looked for, none found"), (quiet, ""), (swung, measured))
    for figures, told in cases:
        writing.derive(bin_, name, Jog(drives=(figures,)))
        assert said(card_of(Desk(bin_, name), DAY))["working rates: resonance"] == told


def test_an_unconnected_motor_is_rated_not_set(bin_: Bin) -> None:
    """A half-winding's RMS rating is no peak to set while nobody chose how to connect it."""
    name = cards.put(bin_, "M-09", ("RD", "BU", "WH", "GN", "BK", "YE"), cards.SIX, cards.HALF)
    assert card_of(Desk(bin_, name), DAY).label.figures[0] == "rated 0.33 A RMS a half-winding"


def test_of_a_chip_without_a_reference_the_card_says_what_the_stage_says(bin_: Bin) -> None:
    desk = Desk(bin_, cards.five(bin_))
    stage = DriverStage(desk)
    texts = {"chip": "ULN2003A", "current": "0.07 A", "supply": "5 V"}
    answer = stage.keep({**stage.texts(), **texts})
    assert said(card_of(desk, DAY))["driver: set"] == answer.headline


def test_looking_writes_nothing(bin_: Bin) -> None:
    names = [make(bin_) for make in cards.ALL]
    with bin_.reading() as connection:
        before = connection.total_changes
        for name in names:
            card_of(Desk(bin_, name), DAY)
        assert connection.total_changes == before
