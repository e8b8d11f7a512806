"""Every motor of the bin in a line: reckoned once from its facts, and again where one of them is another."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

from coilbench import __version__
from coilbench.errors import Fault
from coilbench.records import overviews
from coilbench.records.overviews import Line
from coilbench.records.rows import MotorRecord
from coilbench.records.store import Bin
from coilbench.stages.overview import UNREADABLE, UNSEEN, Overview, overview

# The form of a line, the words in it included: raised with every change of what one says of the same facts.
FORM = f"{__version__}.1"
MOST_AT_ONCE = 100  # lines that are made while somebody waits
KEPT_FROM = 20  # lines made at once that are kept in the bin: fewer are made sooner than written


@dataclass(frozen=True, slots=True)
class Lines:
    """Of all motors, oldest first. ``missing`` counts those of which no more than the leads is told yet."""

    lines: list[Overview]
    missing: int = 0


class BinLines:
    """The lines of a bin. What was reckoned is remembered; may be used from any thread."""

    def __init__(self, bin: Bin) -> None:
        self._bin = bin
        self._made: dict[int, tuple[str, Overview]] = {}

    def now(self, most: int | None = None) -> Lines:
        """The lines as things are; of those that have to be made ``most`` at the most, the others are bare."""
        found: list[Overview] = []
        made: list[Line] = []
        missing = 0
        for line in overviews.lines(self._bin, FORM):
            remembered = self._made.get(line.number)
            if remembered is not None and remembered[0] == line.stamp:
                found.append(remembered[1])
                continue
            if line.text is not None:
                told = _read(line.motor, line.text)
            elif most is not None and len(made) >= most:
                found.append(bare(line.motor))
                missing += 1
                continue
            else:
                told = self._told(line.motor)
                made.append(replace(line, text=_written(told)))
            self._made[line.number] = line.stamp, told
            found.append(told)
        if len(made) >= KEPT_FROM:
            overviews.keep(self._bin, made)
        return Lines(found, missing)

    def _told(self, motor: MotorRecord) -> Overview:
        try:
            return overview(self._bin, motor)
        except Fault:  # which is said in full where the motor is opened
            return replace(bare(motor), next=UNREADABLE)


def bare(motor: MotorRecord) -> Overview:
    """The line of a motor whose facts weren't looked at yet."""
    return Overview(motor=motor.name, found=f"{len(motor.leads)} leads", next=UNSEEN)


def _written(told: Overview) -> str:
    values: Mapping[str, Any] = {key: value for key, value in asdict(told).items() if value and key != "motor"}
    return json.dumps(values)


def _read(motor: MotorRecord, text: str) -> Overview:
    return Overview(motor=motor.name, **json.loads(text))
