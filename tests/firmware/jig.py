"""A motor's leads on the clips of a simulated board: the circuit of harness/jig.h, made of a virtual winding."""

from __future__ import annotations

import ctypes
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from coilbench.board.virtual.inductances import inductance_henry
from coilbench.board.virtual.windings import Windings

CLIP_PINS = {
    "atmega328p": ("B0", "B1", "B2", "B3", "B4", "D4"),
    "atmega2560": ("C7", "C6", "C5", "C4", "C3", "C2", "C1", "C0"),
}
MOST_CLIPS, MOST_NODES, MOST_BRANCHES = 8, 24, 32
_D, _I = ctypes.c_double, ctypes.c_int


class Clip(ctypes.Structure):
    """Ohms, volts: see harness/jig.h."""

    _fields_ = [
        (name, _D)
        for name in (
            "series",
            "pin_high",
            "pin_low",
            "pull_up",
            "bleed",
            "lag",
            "pull_down",
            "outside_volt",
            "outside_ohm",
        )
    ]


class Branch(ctypes.Structure):
    """A part of a winding."""

    _fields_ = [
        ("start", _I),
        ("end", _I),
        *((name, _D) for name in ("ohm", "henry", "emf_volt", "emf_hz", "emf_phase", "ampere")),
        ("mate", _I),
        ("mutual", _D),
    ]


class Circuit(ctypes.Structure):
    """The whole of it."""

    _fields_ = [
        ("clips", _I),
        ("nodes", _I),
        ("branches", _I),
        ("clip", Clip * MOST_CLIPS),
        ("branch", Branch * MOST_BRANCHES),
        ("noise_steps", _D),
        ("bend_steps", _D),
        ("offset_steps", _D),
        ("supply", _D),
        ("time", _D),
        ("since_change", _D),
        ("pin", _I * MOST_CLIPS),
        ("pin_before", _I * MOST_CLIPS),
        ("volt", _D * MOST_NODES),
        ("at_input", _D * MOST_CLIPS),
        ("most_ampere", _D),
        ("random", ctypes.c_uint64),
    ]


@dataclass
class OnClips:
    """``windings`` with lead ``names[n]`` on clip n; parts within their tolerance as ``rng`` draws them.

    Resistors 1 %, bleeds 5 %; pins 25 ohm alike within 10 %, the board's own +-25 %; pull-ups 20 to 50 kohm, alike on
    a chip; inputs 0.15 to 0.5 us late; a winding's time constant 0.5 to 4 ms; coils 3 % apart; clips of 20 to 80
    milliohm. ``off`` are clips that hang in the air; ``pulled_down`` have a driver's 10 kohm; ``outside`` is volt and
    ohm by clip; ``turns_hz`` is the electrical rate of a shaft that turns, with ``turns_volt`` a coil part.
    """

    windings: Windings
    names: Sequence[str]
    rng: random.Random
    off: Sequence[int] = ()
    pulled_down: Sequence[int] = ()
    outside: dict[int, tuple[float, float]] = field(default_factory=dict)
    turns_hz: float = 0.0
    turns_volt: float = 1.0
    time_constant_s: float | None = None
    fitted: Circuit = field(default_factory=Circuit)  # as it was put on a chip

    def circuit(self, clips: int) -> Circuit:
        """As the harness takes it, for a board of so many clips."""
        rng, made = self.rng, Circuit()
        made.clips, made.supply, made.random = clips, 5.0, rng.getrandbits(60)
        made.noise_steps, made.bend_steps = 0.5, rng.uniform(-0.5, 0.5)
        made.offset_steps = rng.uniform(-2, 2)
        board, pull_up, late_s = rng.uniform(0.75, 1.25), rng.uniform(20e3, 50e3), rng.uniform(0.15e-6, 0.5e-6)
        for number in range(clips):
            clip = made.clip[number]
            clip.series = 220 * rng.uniform(0.99, 1.01)
            clip.pin_high, clip.pin_low = (25 * board * rng.uniform(0.9, 1.1) for _ in range(2))
            clip.pull_up, clip.bleed = pull_up * rng.uniform(0.97, 1.03), 100e3 * rng.uniform(0.95, 1.05)
            clip.lag = late_s * rng.uniform(0.9, 1.1)
            clip.pull_down = 10e3 if number in self.pulled_down else 0.0
            clip.outside_volt, clip.outside_ohm = self.outside.get(number, (0.0, 0.0))
        nodes, edges = self.windings.network
        time_constant_s = self.time_constant_s or rng.uniform(0.5e-3, 4e-3)
        henry = inductance_henry(self.windings, time_constant_s)
        parts = [(clips + u, clips + v, ohm * rng.uniform(0.985, 1.015), True) for u, v, ohm in edges]
        for number, name in enumerate(self.names):
            if number not in self.off:
                parts.append((number, clips + self.windings.leads.index(name), rng.uniform(0.02, 0.08), False))
        made.nodes, made.branches = clips + nodes, len(parts)
        for number, (start, end, ohm, wound) in enumerate(parts):
            branch = made.branch[number]
            branch.start, branch.end, branch.ohm = start, end, ohm
            if wound:
                branch.henry = henry[number, number]
                for mate in np.flatnonzero(henry[number]):
                    if mate != number:
                        branch.mate, branch.mutual = int(mate) + 1, henry[number, mate]
            if wound and self.turns_hz:
                branch.emf_volt, branch.emf_hz = self.turns_volt, self.turns_hz
                branch.emf_phase = number * 1.57
        return made

    def fit(self, chip: Any) -> None:
        """Put it on a simulated chip."""
        pins = CLIP_PINS[chip.chip]
        self.fitted = self.circuit(len(pins))
        chip.fit_jig(self.fitted, pins)


def circuit_of(chip: Any) -> Circuit:
    """The circuit on a chip as it stands."""
    return Circuit.from_address(chip.jig_address)
