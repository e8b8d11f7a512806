"""A bench meter on a port, for the windings stage: which one, and its readings of what is asked."""

from __future__ import annotations

import math
import re
import threading
from collections.abc import Callable
from typing import TYPE_CHECKING, Self
from urllib.parse import quote

from coilbench.board.link.ports import VIRTUAL
from coilbench.records.saved.own import OwnMeter
from coilbench.stages import at_bench
from coilbench.stages.desk import Desk

if TYPE_CHECKING:
    from coilbench.board.meter.meter import BenchMeter

ACCURACY = "0.1% + 0.05 ohm"  # any bench meter's, with room to spare; common practice
_PORT = re.compile(r"/|\w+://|COM\d+$|\\\\", re.IGNORECASE)

OpenMeter = Callable[..., "BenchMeter"]


def is_port(text: str) -> bool:
    """Whether a text names a port, and states no accuracy."""
    return _PORT.match(text.strip()) is not None


def shown_ohm(ohm: float) -> str:
    """A reading as it is read: 24.18 ohm, or OL."""
    from coilbench.quantity import format_quantity

    return "OL" if math.isinf(ohm) else format_quantity(ohm, "ohm", 4)


def own_on_port(desk: Desk) -> OwnMeter | None:
    """The meter of the bench that is on a port, the usual one first; None where there is none."""
    usual = desk.own.usual(OwnMeter)
    if usual is not None and usual.port:
        return usual
    return next((each for each in desk.own if isinstance(each, OwnMeter) and each.port), None)


def virtual_meter(motor: str, options: str = "") -> str:
    """The port of a virtual meter whose probes are at this motor of the demo; ``options`` are more of its URL."""
    return f"{VIRTUAL}meter?motor={quote(motor)}{f'&{options}' if options else ''}"


def _open(url: str, *, four_wire: bool) -> BenchMeter:
    from coilbench.board.meter.meter import BenchMeter

    return BenchMeter.open(url, four_wire=four_wire)


class MeterAtWork:
    """The meter on ``url``, opened at its first reading and again after it was unplugged; for one thread at a time.

    ``accuracy`` goes with its readings. Every reading may raise LinkFault and MeterFault.
    """

    def __init__(self, url: str, accuracy: str = "", *, four_wire: bool = False, opener: OpenMeter = _open) -> None:
        self.url, self.accuracy = url, accuracy or ACCURACY
        self._four_wire, self._opener = four_wire, opener
        self._meter: BenchMeter | None = None

    @classmethod
    def of(cls, own: OwnMeter) -> Self:
        """That of the bench."""
        return cls(own.port, own.accuracy, four_wire=own.wires == "4")

    def open(self) -> str:
        """Open it; who it is, in a few words."""
        if self._meter is None:
            self._meter = self._opener(self.url, four_wire=self._four_wire)
        told = self._meter.instrument
        speed = f", {told.speed} baud" if told.speed else ""
        return f"{told.model} on {self.url}{speed}, {'four' if self._four_wire else 'two'} wires"

    def ohm(self, a: str, b: str) -> float:
        """What it shows now, with the probes on these two places."""
        return self._read(a, b, lambda meter: meter.ohm())

    def settled(
        self, a: str, b: str, told: Callable[[float], None] = lambda ohm: None, stop: threading.Event | None = None
    ) -> float:
        """The same, once it has come to rest."""
        return self._read(a, b, lambda meter: meter.settled(told, stop))

    def _read(self, a: str, b: str, reading: Callable[[BenchMeter], float]) -> float:
        from coilbench.board.link.faults import LinkFault

        self.open()
        meter = self._meter
        assert meter is not None
        try:
            meter.probes_on(a, b)
            return reading(meter)
        except LinkFault:
            self.close()
            raise

    def remember(self, desk: Desk) -> str:
        """Have it at the bench, by its port; a few words on that, or none."""
        if self.url.startswith(VIRTUAL):
            return ""
        if any(isinstance(each, OwnMeter) and each.port == self.url for each in desk.own):
            return ""
        wires = "4" if self._four_wire else ""
        return at_bench.note(desk, OwnMeter(name="", accuracy=self.accuracy, port=self.url, wires=wires))

    def close(self) -> None:
        """Let it go; never raises."""
        if self._meter is not None:
            self._meter.close()
            self._meter = None
