"""A bench meter: found at its speed, asked for ohms over two wires or four.

SCPI-1999: Volume 2 (MEASure:RESistance?, MEASure:FRESistance?) and Volume 1, section 7.2.1.4: 9.9E37 is infinity,
9.91E37 is not a number. IEEE 488.2: ``*IDN?`` has four fields.
"""

from __future__ import annotations

import contextlib
import math
import re
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Self

from coilbench.board.link.faults import LinkFault, PortMissing
from coilbench.board.link.link import OpenPort, open_port
from coilbench.board.meter.line import MeterFault, MeterLine
from coilbench.board.meter.settling import Settling

SPEEDS = (9600, 115200, 19200, 57600, 38400)  # of serial meters, the commonest first; common practice
_GREET_S, _GREETINGS = 1.5, 4
_READING_S = 6.0  # finding its range and averaging takes the slowest some four
_ATTEMPTS = 4
_MOST_READINGS = 25
_INFINITE, _NO_NUMBER = 9.8e37, 9.905e37
_LEAST_OHM = -0.05  # what a meter's own zero may be off by
_NUMBER = re.compile(r"[+-]?\d{1,12}(?:\.\d{0,15})?(?:E[+-]?\d{1,3})?", re.IGNORECASE)
_NO_SUCH_COMMAND = range(-199, -99)

_PLUG_IN = "plug the meter in, then look at `coilbench board` for the name of its port"

Told = Callable[[float], None]


@dataclass(frozen=True)
class Instrument:
    """Who the meter says it is."""

    maker: str
    model: str
    speed: int


class BenchMeter:
    """An open meter; for one thread at a time."""

    def __init__(self, line: MeterLine, instrument: Instrument, *, four_wire: bool = False) -> None:
        self.instrument = instrument
        self.four_wire = four_wire
        self._line = line

    @classmethod
    def open(cls, url: str, *, four_wire: bool = False, opener: OpenPort = open_port) -> Self:
        """Open the port and find the speed at which a meter answers. Raises LinkFault, MeterFault."""
        try:
            line = MeterLine(opener(url), url)
        except PortMissing as problem:
            raise PortMissing(problem.happened, title=problem.title, remedy=_PLUG_IN) from problem
        try:
            return cls(line, _found(line), four_wire=four_wire)
        except BaseException:
            line.close()
            raise

    def close(self) -> None:
        """Give the meter back to its keys, and let the port go; never raises."""
        with contextlib.suppress(LinkFault):
            self._line.tell("SYST:LOC")
        self._line.close()

    def probes_on(self, a: str, b: str) -> None:
        """Where the probes are to be now: a virtual meter's are put there, as a hand would."""
        hand = getattr(self._line.port, "put_probes", None)
        if hand is not None:
            hand(a, b)

    def ohm(self) -> float:
        """One reading in ohm, infinite for an open circuit. Raises LinkFault; MeterFault where none can be had."""
        question = "MEAS:FRES?" if self.four_wire else "MEAS:RES?"
        said, negative = "nothing", True
        for _ in range(_ATTEMPTS):
            answer = self._line.ask(question, _READING_S)
            if answer is None:
                self._look_for_refusal()
                continue
            said = answer
            value = float(answer) if _NUMBER.fullmatch(answer) else math.nan
            if _INFINITE <= value < _NO_NUMBER:
                return math.inf
            if _LEAST_OHM <= value < _INFINITE:
                return max(value, 0.0)
            negative = negative and value < 0
            self._line.lost()
        if negative and _NUMBER.fullmatch(said):
            raise MeterFault(
                f"the meter says {float(said):.4g} ohm: something drives the leads",
                title="Voltage on the leads",
                remedy="take the motor off every driver and supply, and hold its shaft still",
            )
        raise MeterFault(
            f"the meter on {self._line.name} gives no reading; the last it said is {said[:40]!r}",
            title="No reading",
            remedy="set it to its serial port and look at what it shows, then measure again",
        )

    def _look_for_refusal(self) -> None:
        """Raises MeterFault where the meter knows no such measurement."""
        if any(code in _NO_SUCH_COMMAND for code, _ in self._line.errors()):
            what = "four-wire" if self.four_wire else "resistance"
            raise MeterFault(
                f"the {self.instrument.model} knows no {what} reading over its port",
                title="Not this meter",
                remedy="measure with two wires" if self.four_wire else "type what it shows",
            )

    def settled(self, told: Told = lambda ohm: None, stop: threading.Event | None = None) -> float:
        """A reading that has come to rest, in ohm; ``told`` is told each on the way. Raises LinkFault, MeterFault."""
        settling = Settling()
        for _ in range(_MOST_READINGS):
            if stop is not None and stop.is_set():
                raise MeterFault("no reading was taken: it was called off")
            ohm = self.ohm()
            told(ohm)
            if (rested := settling.feed(ohm)) is not None:
                return rested
        low_high = settling.between
        where = (
            "it comes and goes" if low_high is None else f"it goes from {low_high[0]:.4g} to {low_high[1]:.4g} ohm"
        )
        raise MeterFault(
            f"the reading doesn't come to rest: {where}",
            title="No rest",
            remedy="press the probes on bare metal, hold the shaft still, then measure again",
        )


def _found(line: MeterLine) -> Instrument:
    speeds = (0,) * _GREETINGS if "://" in line.name else SPEEDS * 2
    heard = ""
    for speed in speeds:
        if speed:
            line.port.baudrate = speed
        line.tell("")
        line.tell("*CLS")
        line.tell("*IDN?")
        until_s = line.now() + _GREET_S
        while (left_s := until_s - line.now()) > 0:
            answer = line.line(left_s)
            fields = (answer or "").split(",")
            if len(fields) >= 4 and fields[1].strip() and (answer or "").isprintable():
                line.tell("SYST:REM")  # many take no reading over a serial port before it; others note an error
                line.get_in_step()
                line.tell("*CLS")
                return Instrument(fields[0].strip(), fields[1].strip(), speed)
            heard = heard or answer or ""
    if heard.startswith(("tell ", "yes ", "no ")):
        raise MeterFault(
            f"on {line.name} is a helper board, no meter", title="No meter", remedy="name the meter's port"
        )
    said = f"; it said {heard[:30]!r}" if heard else ""
    raise MeterFault(
        f"no meter that speaks SCPI answers on {line.name}{said}",
        title="No meter",
        remedy="set the meter to its serial port (RS-232 or USB), 8 data bits and no parity, and look at the cable",
    )
