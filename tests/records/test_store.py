"""What goes into the bin comes out of it, and can be taken back."""

import math
from pathlib import Path

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.saved.base import Event
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import HandTest
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

MOTOR = "M-07"
TEST = HandTest(kind="twitch", reference="RD", touched="BU", answer="cw")


def test_a_reading_is_kept_with_its_meter_and_time(bin_: Bin, path: Path) -> None:
    saved = writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.2, 200.0), meter="1% + 0.2 ohm")
    writing.add_reading(bin_, MOTOR, Reading("RD", "WH", math.inf))
    with Bin.open(path) as other:
        first, second = other.readings(MOTOR)
    assert (first.id, first.reading, first.meter) == (saved, Reading("RD", "BU", 48.2, 200.0), "1% + 0.2 ohm")
    assert first.time.endswith("Z") and first.time.startswith("2")
    assert second.ohm == math.inf and second.range_ohm is None


def test_the_file_is_found_by_the_environment(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COILBENCH_BIN", str(tmp_path / "deep" / "er" / "x.db"))
    with Bin.open() as bin_:
        assert bin_.path == tmp_path / "deep" / "er" / "x.db"
    assert bin_.path.exists()


def test_every_write_is_on_the_disk_when_it_returns(bin_: Bin) -> None:
    with bin_.reading() as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone()[0] == "wal"
        assert connection.execute("PRAGMA synchronous").fetchone()[0] == 2  # FULL


def test_a_name_that_is_not_there_offers_the_nearest(bin_: Bin) -> None:
    bin_.add_motor("grey can")
    with pytest.raises(InputProblem, match="'M-07'"):
        bin_.motor("M07")
    for unknown in ("", "\udcff", "x" * 10_000):
        with pytest.raises(InputProblem):
            bin_.readings(unknown)


@pytest.mark.parametrize("name", ["", "  ", "a\nb", "\x1b[2J", "x" * 81, "M-07", " M-07 "])
def test_names_that_are_refused(bin_: Bin, name: str) -> None:
    with pytest.raises(InputProblem):
        bin_.add_motor(name)
    assert [each.name for each in bin_.motors()] == [MOTOR]


@pytest.mark.parametrize("name", ["[/x]", "=1+1", "Motor aus Kopierer, größer", "'; DROP TABLE motors; --", "%s"])
def test_odd_names_are_plain_text(bin_: Bin, name: str) -> None:
    bin_.add_motor(name, [name, "BU"])
    writing.add_reading(bin_, name, Reading(name, "BU", 1.0))
    assert bin_.motor(name).leads == (name, "BU") and bin_.readings(name)[0].a == name


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (Reading("RD", "RD", 1.0), "itself"),
        (Reading("RD", "GN", 1.0), "'GN' is no lead"),
        (Reading("RD", "BU", -1.0), "zero or more"),
        (Reading("RD", "BU", math.nan), "zero or more"),
        (Reading("probes", "BU", 1.0), "'probes' is no lead"),
    ],
)
def test_readings_that_are_refused(bin_: Bin, reading: Reading, said: str) -> None:
    with pytest.raises(InputProblem, match=said):
        writing.add_reading(bin_, MOTOR, reading)
    assert bin_.readings(MOTOR) == []


def test_frame_and_probes_are_no_leads_but_may_be_read(bin_: Bin) -> None:
    writing.add_reading(bin_, MOTOR, Reading("RD", "frame", math.inf))
    writing.add_reading(bin_, MOTOR, Reading("probes", "probes", 0.2))
    assert len(bin_.readings(MOTOR)) == 2
    with pytest.raises(InputProblem):
        writing.keep(bin_, MOTOR, "windings", leads=["RD", "frame"])


def test_leads_with_readings_stay(bin_: Bin) -> None:
    saved = writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))
    with pytest.raises(InputProblem, match="'BU' has readings"):
        writing.keep(bin_, MOTOR, "windings", leads=["RD", "WH"])
    writing.remove_reading(bin_, saved)
    writing.keep(bin_, MOTOR, "windings", leads=["RD", "WH"])
    writing.undo(bin_, MOTOR)
    writing.undo(bin_, MOTOR)
    assert bin_.motor(MOTOR).leads == ("RD", "BU", "WH") and len(bin_.readings(MOTOR)) == 1


def test_undo_survives_a_restart_and_says_what_it_took_back(bin_: Bin, path: Path) -> None:
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))
    with Bin.open(path) as other:
        assert writing.undo(other, MOTOR) == "reading RD BU"
        assert writing.undo(other, MOTOR) is None
    assert bin_.readings(MOTOR) == []
    assert writing.redo(bin_, MOTOR) == "reading RD BU" and writing.redo(bin_, MOTOR) is None


def test_whether_there_is_anything_to_take_back_or_do_again(bin_: Bin) -> None:
    assert not bin_.can_undo(MOTOR, "windings") and not bin_.can_redo(MOTOR, "windings")
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 48.2))
    assert bin_.can_undo(MOTOR, "windings") and not bin_.can_redo(MOTOR, "windings")
    writing.undo(bin_, MOTOR, "windings")
    assert bin_.can_redo(MOTOR, "windings") and not bin_.can_redo(MOTOR, "order") and not bin_.can_undo("M-99")


def test_a_stage_undoes_its_own_changes(bin_: Bin) -> None:
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))
    writing.add_event(bin_, MOTOR, TEST)
    writing.undo(bin_, MOTOR, "windings")
    assert bin_.readings(MOTOR) == [] and len(bin_.entries(MOTOR, HandTest)) == 1
    writing.undo(bin_, MOTOR, "order")
    assert bin_.entries(MOTOR, Event) == []


def test_facts_are_replaced_and_stages_known(bin_: Bin) -> None:
    writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 17"))
    writing.keep(bin_, MOTOR, "intake", Intake(frame="NEMA 23"))
    assert bin_.known(MOTOR).get(Intake) == Intake(frame="NEMA 23") and bin_.motor(MOTOR).stages == ("intake",)


def test_rename_and_delete(bin_: Bin) -> None:
    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))
    bin_.rename(MOTOR, "M-08")
    assert len(bin_.readings("M-08")) == 1
    bin_.add_motor(MOTOR)
    with pytest.raises(InputProblem, match="already"):
        bin_.rename(MOTOR, "M-08")
    bin_.delete_motor("M-08")
    assert [each.name for each in bin_.motors()] == [MOTOR]


def test_an_entry_that_another_window_removed(bin_: Bin, path: Path) -> None:
    saved = writing.add_reading(bin_, MOTOR, Reading("RD", "BU", 1.0))
    with Bin.open(path) as other:
        writing.remove_reading(other, saved)
    with pytest.raises(InputProblem, match="gone"):
        writing.edit_reading(bin_, saved, 2.0)


class Undoing(RuleBasedStateMachine):
    """Undo and redo walk back and forth over every state there was."""

    def __init__(self) -> None:
        super().__init__()
        self.bin_ = Bin.scratch()
        self.bin_.add_motor(MOTOR, ["RD", "BU"])
        self.past: list[dict[int, float]] = []
        self.now: dict[int, float] = {}
        self.future: list[dict[int, float]] = []

    def change(self, after: dict[int, float]) -> None:
        self.past.append(self.now)
        self.now, self.future = after, []

    @rule(ohm=st.one_of(st.floats(0, 1e6), st.just(math.inf)))
    def add(self, ohm: float) -> None:
        saved = writing.add_reading(self.bin_, MOTOR, Reading("RD", "BU", ohm))
        self.change({**self.now, saved: ohm})

    @precondition(lambda self: self.now)
    @rule(data=st.data(), ohm=st.floats(0, 1e6))
    def edit(self, data: st.DataObject, ohm: float) -> None:
        chosen = data.draw(st.sampled_from(sorted(self.now)))
        writing.edit_reading(self.bin_, chosen, ohm)
        self.change({**self.now, chosen: ohm})

    @precondition(lambda self: self.now)
    @rule(data=st.data())
    def remove(self, data: st.DataObject) -> None:
        chosen = data.draw(st.sampled_from(sorted(self.now)))
        writing.remove_reading(self.bin_, chosen)
        self.change({key: ohm for key, ohm in self.now.items() if key != chosen})

    @rule()
    def undo(self) -> None:
        assert (writing.undo(self.bin_, MOTOR) is None) == (not self.past)
        if self.past:
            self.future.append(self.now)
            self.now = self.past.pop()

    @rule()
    def redo(self) -> None:
        assert (writing.redo(self.bin_, MOTOR) is None) == (not self.future)
        if self.future:
            self.past.append(self.now)
            self.now = self.future.pop()

    @invariant()
    def same(self) -> None:
        assert {each.id: each.ohm for each in self.bin_.readings(MOTOR)} == self.now

    def teardown(self) -> None:
        self.bin_.close()


TestUndoing = Undoing.TestCase
TestUndoing.settings = settings(max_examples=40, stateful_step_count=25, deadline=None)
