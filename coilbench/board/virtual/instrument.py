"""A virtual bench meter: speaks SCPI over a line, reads virtual windings, and misbehaves where it is told to.

SCPI-1999 and IEEE 488.2 as in ``board.meter``; the error numbers are those of SCPI-1999, Volume 2, section 21.8.
"""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from coilbench.board.virtual.motor import VirtualMotor
from coilbench.winding.readings.reading import FRAME, PROBES

FAULTS = ("late", "half", "wrong", "errors", "chatter", "two-wire")
_OFTEN = 0.2  # of the answers that a fault spoils
_READING_S, _WORD_S, _LATE_S = 0.25, 0.02, 8.0
_HAND_S, _CONTACT_S = 0.8, 0.4  # the probes are in the air, then not yet pressed on
_NOISE = 1e-4
_GAIN = 2e-4
_OVERLOAD_OHM = 120e6
_IDENTITY = "VILLAGE WORKSHOP,VIRTUAL BENCH METER,0,1.0"


@dataclass
class Probes:
    """The meter's probes at a motor; a hand takes them from place to place."""

    motor: VirtualMotor
    probes_ohm: float = 0.15
    places: tuple[str, str] | None = None
    moved_s: float = -math.inf

    def put(self, a: str, b: str, now_s: float) -> None:
        """Take them there. Raises ValueError for a lead that the motor doesn't have."""
        known = (*self.motor.windings.leads, FRAME, PROBES)
        for place in (a, b):
            if place not in known:
                raise ValueError(f"the virtual motor {self.motor.name} has no lead {place}")
        if (a, b) != self.places:
            self.places, self.moved_s = (a, b), now_s

    def ohm(self, now_s: float, rng: random.Random, *, four_wire: bool) -> float:
        """What is between them now."""
        if self.places is None or now_s < self.moved_s + _HAND_S:
            return math.inf
        true_ohm = 0.0
        if PROBES not in self.places:
            windings = self.motor.windings
            names = [*windings.leads, FRAME]
            a, b = (names.index(place) for place in self.places)
            true_ohm = float(windings.resistance_ohm[a, b])
        if now_s < self.moved_s + _HAND_S + _CONTACT_S:
            true_ohm += rng.uniform(0.2, 5.0)
        shown = true_ohm * (1 + _GAIN + rng.gauss(0, _NOISE)) + (0.0 if four_wire else self.probes_ohm)
        return math.inf if shown > _OVERLOAD_OHM else shown


@dataclass
class VirtualInstrument:
    """``hear`` gives it a line, ``said`` has what it says by now; times in seconds of one clock."""

    probes: Probes
    faults: frozenset[str] = frozenset()
    seed: int = 1
    _status: int = 0
    _free_s: float = 0.0
    _errors: deque[str] = field(default_factory=lambda: deque(maxlen=20))
    _out: list[tuple[float, bytes]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._rng = random.Random(self.seed)

    def hear(self, line: str, now_s: float) -> None:
        """Take one program message; several parts of it are separated by semicolons."""
        for part in filter(None, (each.strip() for each in line.split(";"))):
            word, _, argument = part.partition(" ")
            self._do(word.upper().lstrip(":"), argument.strip(), now_s)

    def said(self, now_s: float) -> bytes:
        """What has been said until now and wasn't taken yet."""
        ready = b"".join(data for at_s, data in self._out if at_s <= now_s)
        self._out = [(at_s, data) for at_s, data in self._out if at_s > now_s]
        return ready

    def _do(self, word: str, argument: str, now_s: float) -> None:
        answers: dict[str, Callable[[], str]] = {
            "*IDN?": lambda: _IDENTITY,
            "*ESE?": lambda: str(self._status),
            "SYST:ERR?": lambda: self._errors.popleft() if self._errors else '+0,"No error"',
        }
        if word == "*CLS":
            self._errors.clear()
        elif word == "*ESE" and argument.isdigit() and int(argument) < 256:
            self._status = int(argument)
        elif word in ("SYST:REM", "SYST:LOC"):
            pass
        elif word in answers:
            self._say(answers[word](), now_s, _WORD_S)
        elif word in ("MEAS:RES?", "MEAS:FRES?") and not (word == "MEAS:FRES?" and "two-wire" in self.faults):
            self._measure(now_s, four_wire=word == "MEAS:FRES?")
        else:
            self._errors.append('-113,"Undefined header"')

    def _measure(self, now_s: float, *, four_wire: bool) -> None:
        ohm = self.probes.ohm(now_s, self._rng, four_wire=four_wire)
        text = "+9.90000000E+37" if math.isinf(ohm) else f"{ohm:+.8E}"
        if "errors" in self.faults and self._rng.random() < _OFTEN:
            self._errors.extend(['-410,"Query INTERRUPTED"'] * 3)
            self._say(text, now_s, _READING_S, lost=True)
        elif "late" in self.faults and self._rng.random() < _OFTEN:
            self._say(text, now_s, _LATE_S)
        elif "wrong" in self.faults and self._rng.random() < _OFTEN:
            self._say(self._rng.choice(["+9.91000000E+37", "+2.4#00", "-3.10000000E+01", "", "E"]), now_s, _READING_S)
        else:
            self._say(text, now_s, _READING_S)

    def _say(self, text: str, now_s: float, takes_s: float, *, lost: bool = False) -> None:
        self._free_s = max(self._free_s, now_s) + takes_s
        data = text.encode() + b"\r\n"
        if "half" in self.faults and self._rng.random() < _OFTEN:
            data = data[: self._rng.randrange(len(data) - 1)]
        if "chatter" in self.faults and self._rng.random() < _OFTEN:
            data = b"\x00\xff~" + b"\n" + data
        if not lost:
            self._out.append((self._free_s, data))
