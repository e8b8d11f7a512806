"""The windings stage: where to put the probes, what the meter says, which lead is which."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from coilbench.errors import InputProblem
from coilbench.records.rows import Entry, SavedReading
from coilbench.records.saved.decode import plain
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.own import OwnMeter
from coilbench.records.saved.windings import Inductance, Windings
from coilbench.stages.desk import Desk
from coilbench.stages.head import Head
from coilbench.stages.picture import Wiring
from coilbench.stages.stage import Known, Stage
from coilbench.stages.windings.clips import (
    CLIPS,
    RESTLESS,
    ClipBoard,
    ClipInTheAir,
    inductances_of,
    kicks_of,
    order_told,
)
from coilbench.stages.windings.head import head_of
from coilbench.stages.windings.judging import (
    AUTOMATIC_RANGE_OHM,
    Pair,
    Snapshot,
    ask_value,
    judged,
    result_of,
    snapshot_of,
    windings_of,
)
from coilbench.stages.windings.words import (
    Asked,
    Page,
    ReadingRow,
    asked,
    asked_range,
    known_inductances,
    known_of,
    page_of,
    progress_of,
    reading_rows,
    result_text,
    summary_of,
)
from coilbench.winding.engine.verdict import Ask, Verdict
from coilbench.winding.readings.reading import FRAME, PROBES, Reading

if TYPE_CHECKING:
    from coilbench.winding.order.types import OrderVerdict
    from coilbench.winding.readings.clips import ClipMap

R = TypeVar("R")

MOST_READINGS = 120  # nobody measures a motor so often: something else answers
OPENS_IN_A_ROW = 3  # before it is asked whether the meter can see such a coil at all
_AUTOMATIC = ("", "auto", "a", "no", "open")


@dataclass(frozen=True, slots=True)
class WindingsState:
    """The stage as it is drawn. ``ask`` is None when all is known, and the result stands in its place; ``correcting``
    says that a saved reading is asked anew. ``sure`` is the engine's word for it, ``named`` that of the command."""

    ask: Asked | None
    correcting: bool
    known: tuple[Known, ...]
    rows: tuple[ReadingRow, ...]
    result: str
    progress: tuple[str, ...]
    finish_says: str
    wiring: Wiring
    head: Head
    sure: bool
    named: bool
    full: bool


@dataclass(frozen=True, slots=True)
class ProbePlace:
    """Where a probe can be put: ``whole`` where that is the whole reading, both probes held together."""

    name: str
    whole: bool = False


class WindingsStage(Stage):
    """Readings in, the next one asked, until every lead has its place.

    An entry is on the disk when its method returns; then ``work_out`` judges it. A screen does the same in two steps:
    ``judged(stage.snapshot())`` in a thread, and ``take`` what comes of it. ``meter`` and ``range_ohm`` are those of
    the readings to come, as far as they were stated; ``asks_range`` is false for whoever can't answer that.
    """

    id = "windings"

    def __init__(
        self, desk: Desk, *, meter: str = "", range_ohm: float | None = None, asks_range: bool = True
    ) -> None:
        super().__init__(desk)
        self.verdict: Verdict | None = None
        self._stated = meter
        self._range_ohm = range_ohm
        self._asks_range = asks_range
        self._skipped: list[Pair] = []
        self._picked: Ask | None = None
        self._correcting: SavedReading | None = None
        self._entered = False  # since the result was kept last
        self.clips = ClipBoard()

    @property
    def own_meter(self) -> OwnMeter | None:
        """The usual meter of the bench, that readings are taken with where no other is stated; None for none."""
        return None if self._stated else self.desk.own.usual(OwnMeter)

    @property
    def _meter(self) -> str:
        own = self.own_meter
        return self._stated if own is None else own.accuracy

    # Judging

    def snapshot(self) -> Snapshot:
        """What is to be judged now."""
        return snapshot_of(self.desk, meter=self._stated, skipped=self._skipped)

    def take(self, verdict: Verdict) -> None:
        """Take what was judged; after an entry, keep what is settled by it."""
        self.verdict = verdict
        kept = self.desk.known.get(Windings)
        settled = verdict.sure or (verdict.ask is None and verdict.readings > 0)
        if not self._entered and (kept is not None or not settled):
            return
        self._entered = False
        if settled or (kept is not None and kept.readings and verdict.readings):
            self.desk.derive(windings_of(verdict, self._inductances))
            if self._kicks:
                self._with_kicks(lambda: None)  # now there are windings that they belong to
        elif kept is not None and kept.readings:
            self.desk.withdraw(self.id)

    def work_out(self) -> WindingsState:
        """Judge, take it, and return the state."""
        self.take(judged(self.snapshot()))
        return self.state

    def finish(self) -> None:
        """Keep the result as it stands."""
        self.desk.derive(windings_of(self.judged_last, self._inductances))

    @property
    def judged_last(self) -> Verdict:
        """The verdict over the readings, judged now if it wasn't yet."""
        if self.verdict is None:
            self.work_out()
        assert self.verdict is not None
        return self.verdict

    # The state

    @property
    def ask(self) -> Ask | None:
        """The reading that is asked for: one to correct, a pair the person picked, or what tells most."""
        if self._correcting is not None:
            from coilbench.quantity import format_quantity

            said = format_quantity(self._correcting.ohm, "ohm", 4)
            return Ask(
                self._correcting.a, self._correcting.b, f"type this reading again, it says {said}; s leaves it"
            )
        return self._picked or (self.verdict.ask if self.verdict is not None else None)

    @property
    def state(self) -> WindingsState:
        """How things stand, by what was judged last."""
        verdict, ask, readings = self.judged_last, self.ask, self._readings
        question = self._range_question() or (None if ask is None else asked(ask))
        from coilbench.winding.drawing.figures import percent
        from coilbench.winding.report import named

        windings = windings_of(verdict, self._inductances)
        known = (*known_of(verdict), *known_inductances(windings))
        return WindingsState(
            question,
            self._correcting is not None,
            known,
            reading_rows(readings, verdict.repeat),
            result_text(verdict, windings) if question is None else "",
            tuple(progress_of(verdict)),
            f"{verdict.arrangement}, {percent(verdict.confidence)} confidence for all its leads",
            Wiring(verdict, None, [saved.reading for saved in readings]),
            head_of(verdict, question, known, self.desk.known, chosen=self.has_choice),
            verdict.sure,
            named(verdict),
            len(readings) + len(self._skipped) >= MOST_READINGS,
        )

    def page(self, order: OrderVerdict | None = None, *, ascii: bool = False) -> Page:
        """The whole result on plain lines."""
        verdict, readings = self.judged_last, [saved.reading for saved in self._readings]
        order = order or order_told([entry.value for entry in self._kicks], verdict)
        return page_of(verdict, windings_of(verdict, self._inductances), order, readings, ascii=ascii)

    def result(self) -> dict[str, Any]:
        """The result as the one JSON object that every mode of the command prints."""
        verdict = self.judged_last
        order = self.desk.known.get(Order) or order_told([entry.value for entry in self._kicks], verdict)
        found = result_of(verdict, self._inductances)
        return found | {"order": list(order.sequence) if order is not None and order.done else None}

    def asked_value(self) -> list[str] | str | None:
        """What is asked, as JSON has it."""
        return None if self.ask is None else plain(ask_value(self.ask))

    @classmethod
    def summary(cls, known: Facts) -> list[Known]:
        windings = known.get(Windings)
        return [] if windings is None else summary_of(windings)

    @property
    def _readings(self) -> list[SavedReading]:
        return [one for one in self.desk.readings if one.kind == "ohms"]

    @property
    def _inductances(self) -> list[Inductance]:
        return [entry.value for entry in self.desk.entries(Inductance)]

    # Entries

    def enter(self, text: str) -> None:
        """Take what was typed for what is asked: a reading, or the meter's range. Raises InputProblem."""
        from coilbench.quantity import parse_quantity, parse_reading

        ask = self.ask
        if self._range_question() is not None:
            automatic = text.strip().lower() in _AUTOMATIC
            self._set_range(None if automatic else parse_quantity(text, "ohm", bare=True))
        elif ask is None:
            raise InputProblem("nothing is asked: pick a pair first")
        else:
            self._put(ask, parse_reading(text), self._meter)

    def measure(self, meter: Callable[[str, str], float], name: str) -> None:
        """Let a meter answer what is asked: it is called with the two places, and finds its range by itself."""
        ask = self.ask
        if self._range_question() is not None:
            self._set_range(None)
        elif ask is not None:
            self._put(ask, meter(ask.a, ask.b), name)

    def load(self, readings: Iterable[Reading]) -> None:
        """Take many readings at once."""
        for reading in readings:
            self.desk.add_reading(reading, meter=self._meter)
        self._entered = True

    def take_clips(self, found: ClipMap, silent: Collection[str] = ()) -> tuple[str, ...]:
        """Take what a board measured on its clips, in place of what it measured before; return what it couldn't tell.

        Raises ClipInTheAir for leads that conduct to no other and aren't said to be ``silent`` with their clips well
        on, and InputProblem where something moved meanwhile.
        """
        if found.restless:
            raise InputProblem("the voltages both ways round don't fit each other", remedy=RESTLESS)
        if in_air := [lead for lead in found.alone if lead not in silent]:
            raise ClipInTheAir(in_air)
        readings = [replace(one, range_ohm=AUTOMATIC_RANGE_OHM) for one in found.readings]
        before = [*self.desk.entries(Inductance), *self._kicks]
        kept, untold = inductances_of(found)
        events, ids = [*kept, *kicks_of(found)], [entry.id for entry in before]
        self._with_kicks(lambda: self.desk.add_readings(readings, meter=CLIPS, events=events, instead_of=ids))
        self._leave_choice()
        self._entered = True
        return untold

    @property
    def _kicks(self) -> list[Entry[HandTest]]:
        return [entry for entry in self.desk.entries(HandTest) if entry.value.kind == "kick"]

    def _with_kicks(self, step: Callable[[], R]) -> R:
        """Do what may add or take back kicks; the order that rests on them follows."""
        from coilbench.stages.order.stage import OrderStage

        order, before = OrderStage(self.desk), self._kicks
        rested, result = order.rests_on_tests, step()
        if self._kicks != before:
            order.follow(rested)
        return result

    def _put(self, ask: Ask, ohm: float, meter: str) -> None:
        if self._correcting is not None:
            self.desk.edit_reading(self._correcting.id, ohm)
        else:
            # One asked for on a higher range isn't on the range that was set before.
            range_ohm = None if ask.kind == "range" else self._range_ohm
            self.desk.add_reading(Reading(ask.a, ask.b, ohm, range_ohm), meter=meter)
        self._leave_choice()
        self._entered = True

    def _set_range(self, range_ohm: float | None) -> None:
        """The range of all readings, past and to come, of which it wasn't said; None for a meter that finds it."""
        self.desk.set_range(AUTOMATIC_RANGE_OHM if range_ohm is None else range_ohm)
        self._range_ohm = range_ohm
        self._entered = True

    def _range_question(self) -> Asked | None:
        """Asked once where nothing but open was read lead to lead, on a range that wasn't said."""
        if not self._asks_range or self._range_ohm is not None or self._correcting is not None:
            return None
        between = [one for one in self._readings if not {one.a, one.b} & {FRAME, PROBES}]
        asks = len(between) >= OPENS_IN_A_ROW and all(one.ohm == math.inf for one in between)
        return asked_range(between[-1].reading) if asks and all(one.range_ohm is None for one in between) else None

    def skip(self) -> None:
        """Leave out what is asked: a pair, a correction, a pair that was picked."""
        if self._range_question() is not None:
            self._asks_range = False
        elif self._correcting is not None or self._picked is not None:
            self._leave_choice()
        elif self.ask is not None:
            self._skipped.append((self.ask.a, self.ask.b))

    def pick(self, a: str, b: str) -> None:
        """Ask for this pair next; ``frame`` and ``probes`` are places, too. Raises InputProblem for no pair."""
        if (a == b) != (a == PROBES) or (PROBES in (a, b) and a != b):
            raise InputProblem(f"{a} and {b} can't be measured against each other: pick two different leads")
        if a == FRAME:
            a, b = b, a
        self._leave_choice()
        kind = "probes-together" if a == PROBES else "frame" if b == FRAME else "pair"
        self._picked = Ask(a, b, "you picked this pair", kind)  # type: ignore[arg-type]

    def places(self, first: str | None = None) -> tuple[ProbePlace, ...]:
        """Where a probe can be put: the first, or the other one where the first is on a place already."""
        if first is None:
            return (*map(ProbePlace, self.desk.leads), ProbePlace(PROBES, whole=True))
        return tuple(ProbePlace(name) for name in (*self.desk.leads, FRAME) if name != first)

    def correct(self, reading_id: int) -> None:
        """Ask for a saved reading anew; of one that is gone nothing happens."""
        self._leave_choice()
        self._correcting = next((one for one in self._readings if one.id == reading_id), None)

    @property
    def has_choice(self) -> bool:
        """Whether the person chose what is asked: a reading to correct, or a pair."""
        return self._correcting is not None or self._picked is not None

    @property
    def corrected_id(self) -> int | None:
        """The reading that is asked anew."""
        return None if self._correcting is None else self._correcting.id

    def remove(self, reading_id: int) -> None:
        """Take a saved reading out."""
        self._leave_choice()
        self.desk.remove_reading(reading_id)
        self._entered = True

    def undo(self) -> str | None:
        return self._stepped(self._with_kicks(super().undo))

    def redo(self) -> str | None:
        return self._stepped(self._with_kicks(super().redo))

    def _stepped(self, what: str | None) -> str | None:
        self._leave_choice()
        self._entered = self._entered or what is not None
        return what

    def _leave_choice(self) -> None:
        self._picked = self._correcting = None
