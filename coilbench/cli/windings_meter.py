"""``windings --ask`` with a bench meter on a port: by Enter, or each reading by itself once it rests."""

from __future__ import annotations

import threading
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING

from coilbench.cli.dialogue import read_line, say
from coilbench.errors import CoilbenchError, InputProblem
from coilbench.stages.windings.bench_meter import MeterAtWork, is_port

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from coilbench.stages.windings.words import Asked

    Lines = Callable[[], str | None]


def told_meter(given: Sequence[str]) -> tuple[str, str]:
    """Accuracy and port of what ``--meter`` was given, empty where it wasn't. Raises InputProblem for two alike."""
    accuracies, ports = ([each for each in given if is_port(each) == wanted] for wanted in (False, True))
    if len(accuracies) > 1 or len(ports) > 1:
        raise InputProblem("--meter twice", remedy="give it once for the accuracy and once for the port, at most")
    return "".join(accuracies), "".join(ports)


class LinesAndReadings:
    """Lines of the person and readings of the meter, whichever comes first; lines are waited for in a thread."""

    def __init__(self, meter: MeterAtWork, lines: Lines | None = None) -> None:
        from coilbench.board.meter.settling import Hand

        self._meter, self._hand = meter, Hand()
        self._lines: SimpleQueue[str | None] = SimpleQueue()
        self._read = lines or (lambda: read_line(echo=True))
        threading.Thread(target=self._wait_for_lines, daemon=True).start()

    def _wait_for_lines(self) -> None:
        while True:
            line = self._read()
            self._lines.put(line)
            if line is None:
                return

    def next(self, ask: Asked) -> str | float | None:
        """A typed line, a reading in ohm that rests between the asked places, or None at the input's end."""
        while True:
            try:
                return self._lines.get_nowait()
            except Empty:
                pass
            try:
                rested = self._hand.feed(self._meter.ohm(ask.a, ask.b))
            except CoilbenchError as problem:
                say(f"{problem}")
                return self._lines.get()  # the person goes on by hand, or has put it right
            if rested is not None:
                return rested
