"""A line a motor, kept beside its facts: always the one that its facts give, whoever wrote and whatever was kept."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from coilbench.records import writing
from coilbench.records.saved.ratings import Ratings
from coilbench.records.store import Bin
from coilbench.stages.bin.lines import FORM, KEPT_FROM, BinLines
from coilbench.stages.bin.notes import archive, write_down
from coilbench.stages.desk import Desk
from coilbench.stages.overview import UNSEEN, Overview, overview
from coilbench.winding.readings.reading import Reading
from tests.support import cards


@pytest.fixture
def bin_(tmp_path: Path) -> Iterator[Bin]:
    with Bin.open(tmp_path / "motors.db") as opened:
        for put in cards.ALL:
            put(opened)
        for number in range(KEPT_FROM):
            opened.add_motor(f"B-{number}", ("RD", "BU"))
        yield opened


def reckoned(bin_: Bin) -> list[Overview]:
    return [overview(bin_, motor) for motor in bin_.motors()]


def test_another_look_reads_what_was_kept_and_says_the_same(bin_: Bin) -> None:
    assert BinLines(bin_).now().lines == reckoned(bin_)
    again = BinLines(bin_).now(most=0)
    assert again.lines == reckoned(bin_) and again.missing == 0


def test_what_changed_is_made_anew_whoever_changed_it(bin_: Bin) -> None:
    lines = BinLines(bin_)
    lines.now()
    with Bin.open(bin_.path) as other:
        writing.derive(other, "B-1", Ratings(current_ampere=0.5))
        writing.add_reading(other, "B-2", Reading("RD", "BU", math.inf))
        other.rename("B-3", "C-3")
        archive(other, ["B-4"])
        write_down(Desk(other, "M-02"), text="sings")
        writing.undo(other, "B-2")
        other.delete_motor("B-5")
    found = lines.now(most=0)  # without making any
    assert [each.motor for each in found.lines if each.next == UNSEEN] == ["M-02", "B-1", "C-3", "B-4"]
    assert found.missing == 4
    for looks in (lines, BinLines(bin_)):
        assert looks.now().lines == reckoned(bin_)
    assert [each.motor for each in lines.now().lines if each.archived] == ["B-4"]


def test_a_kept_line_that_is_damaged_is_made_anew(bin_: Bin) -> None:
    BinLines(bin_).now()
    with bin_.writing() as connection:
        connection.execute("UPDATE overviews SET value = replace(value, '0.33 A', '0.99 A')")
    assert BinLines(bin_).now().lines == reckoned(bin_)


def test_a_few_motors_are_looked_at_without_a_word_written(bin_: Bin) -> None:
    for number in range(KEPT_FROM):
        bin_.delete_motor(f"B-{number}")
    lines = BinLines(bin_).now()
    with bin_.reading() as connection:
        assert connection.execute("SELECT count(*) FROM overviews").fetchone() == (0,)
    assert lines.lines == reckoned(bin_)


def test_a_fact_that_cannot_be_read_hides_no_other_motor(bin_: Bin) -> None:
    with bin_.writing() as connection:
        connection.execute(
            "UPDATE facts SET value = '{\"arrangement\": 3}' WHERE stage = 'windings' AND motor_id = 1"
        )
    first, second, *_ = BinLines(bin_).now().lines
    assert first.verdict == "can't be read" and second.verdict == "next: windings"


def test_the_form_is_raised_with_every_change_of_what_a_line_says(bin_: Bin) -> None:
    """When this fails for a wanted change, raise the number at the end of ``FORM``, and put it right here, too."""
    whole, unsorted, leaky = reckoned(bin_)[:3]
    assert FORM == "0.1.0.1"
    assert whole == Overview(
        "M-02", "unipolar-6", "24.1 Ω", "0.33 A", "0.186 V", "640 / 1900", "all done", "wide printer, carriage",
        "12V 24 ohm 200 steps shaft 6.35 mm with a flat; hums at 100",
    )  # fmt: skip
    assert unsorted == Overview("M-10", "4 leads", next="windings")
    assert leaky == Overview(
        "M-06", "unipolar-6 ! leaks to case", "24.1 Ω", "0.33 A", "0.186 V", next="not to be used"
    )
