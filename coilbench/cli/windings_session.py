"""One motor being sorted on the command line: its readings, what was skipped, and the verdict so far."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from coilbench.errors import InputProblem
from coilbench.winding.engine.report import order_fact, result_object
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import Ask, Verdict
from coilbench.winding.order.types import OrderVerdict
from coilbench.winding.readings.meter import Meter
from coilbench.winding.readings.reading import Reading

if TYPE_CHECKING:
    from coilbench.records.rows import SavedReading

MOST_READINGS = 120  # nobody measures a motor so often: something else answers


def kept_leads(name: str, path: Path | None) -> tuple[str, ...] | None:
    """The leads of a motor in the bin; None where there is no such motor, or no bin yet."""
    from coilbench.records.paths import bin_path
    from coilbench.records.store import Bin

    if not (path or bin_path()).exists():  # looking must not begin a bin
        return None
    with Bin.open(path) as bin_:
        return next((record.leads for record in bin_.motors() if record.name == name), None)


class Keeper(AbstractContextManager["Keeper"]):
    """Where readings are kept as they come: in the motor bin under a name, or nowhere."""

    def __init__(self, bin_: Any, name: str, meter: str, kept: Sequence[SavedReading] = ()) -> None:
        self._bin = bin_
        self._name = name
        self._meter = meter
        self._ids = [one.id for one in kept]
        self.kept = [one.reading for one in kept]

    @classmethod
    def open(
        cls, name: str | None, path: Path | None, leads: Sequence[str], meter: str, *, go_on: bool = False
    ) -> Keeper:
        """A keeper for a motor of this name, new or with the same leads; without a name, for none.

        Raises InputProblem for a motor that has readings, unless ``go_on`` says to add to them.
        """
        if name is None:
            return cls(None, "", meter)
        from coilbench.records.checks import free_name
        from coilbench.records.store import Bin

        bin_ = Bin.open(path)
        try:
            there = {record.name: record for record in bin_.motors()}
            if name not in there:
                bin_.add_motor(name, tuple(leads))
            elif set(there[name].leads) != set(leads):
                raise InputProblem(f"motor {name!r} is in the bin with other leads", remedy="choose another name")
            kept = [one for one in bin_.readings(name) if one.kind == "ohms"]
            if kept and not go_on:
                count = f"{len(kept)} reading{'s' * (len(kept) > 1)}"
                remedy = f"--go-on adds to them; or choose another name, such as {free_name(name, set(there))!r}"
                raise InputProblem(f"motor {name!r} has {count} in the bin", remedy=remedy)
        except BaseException:
            bin_.close()
            raise
        return cls(bin_, name, meter, kept)

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._bin is not None:
            self._bin.close()

    def added(self, reading: Reading) -> None:
        """Keep a reading, at once."""
        if self._bin is not None:
            self._ids.append(self._bin.add_reading(self._name, reading, meter=self._meter))

    def removed(self, index: int) -> None:
        """Forget the reading at this place."""
        if self._bin is not None:
            self._bin.remove_reading(self._ids.pop(index))

    def changed(self, index: int, reading: Reading) -> None:
        """Keep the reading at this place as it is now."""
        if self._bin is not None:
            self._bin.edit_reading(self._ids[index], reading.ohm, range_ohm=reading.range_ohm)

    def finished(self, verdict: Verdict, order: OrderVerdict | None) -> None:
        """Keep the result, and the phase order where it was tested."""
        if self._bin is None:
            return
        self._bin.put_fact(self._name, "windings", result_object(verdict, order))
        if order is not None:
            self._bin.put_fact(self._name, "order", order_fact(order))


@dataclass
class Session:
    """The readings of one motor and the verdict over them, judged anew whenever they change."""

    leads: tuple[str, ...]
    meter: Meter
    range_ohm: float | None
    keeper: Keeper
    readings: list[Reading] = field(default_factory=list)
    skipped: list[tuple[str, str]] = field(default_factory=list)
    verdict: Verdict = field(init=False)

    def __post_init__(self) -> None:
        self.readings += self.keeper.kept
        self._judge()

    def load(self, readings: Iterable[Reading]) -> None:
        """Take many readings at once."""
        for reading in readings:
            self.readings.append(reading)
            self.keeper.added(reading)
        self._judge()

    def add(self, ask: Ask, ohm: float) -> None:
        """Take the reading asked for; one asked for on a higher range isn't on the range set before."""
        self.load([Reading(ask.a, ask.b, ohm, None if ask.kind == "range" else self.range_ohm)])

    def remove(self, index: int) -> Reading:
        """Take back the reading at this place (-1: the last). Raises IndexError where there is none."""
        gone = self.readings.pop(index)
        self.keeper.removed(index)
        self._judge()
        return gone

    def change(self, index: int, ohm: float) -> None:
        """Give the reading at this place another value. Raises IndexError where there is none."""
        self.readings[index] = replace(self.readings[index], ohm=ohm)
        self.keeper.changed(index, self.readings[index])
        self._judge()

    def skip(self, a: str, b: str) -> None:
        """Leave a pair out from now on."""
        self.skipped.append((a, b))
        self._judge()

    def set_range(self, range_ohm: float | None) -> None:
        """The hand-set range of all readings, past and to come, that have none of their own."""
        self.range_ohm = range_ohm
        for index, reading in enumerate(self.readings):
            if reading.range_ohm is None:
                self.readings[index] = replace(reading, range_ohm=range_ohm)
                self.keeper.changed(index, self.readings[index])
        self._judge()

    def finish(self, order: OrderVerdict | None = None) -> None:
        """Keep the result."""
        self.keeper.finished(self.verdict, order)

    @property
    def full(self) -> bool:
        """Whether more readings than any motor needs were taken."""
        return len(self.readings) + len(self.skipped) >= MOST_READINGS

    def _judge(self) -> None:
        self.verdict = judge(self.leads, self.readings, self.meter, skipped=tuple(self.skipped))
