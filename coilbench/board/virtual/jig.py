"""The leads of a virtual motor on the clips of a virtual board: what a driven pair makes of all of them, and when."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from coilbench.winding.readings.clips import BLEED_OHM, DRIVE_OHM

if TYPE_CHECKING:
    from coilbench.board.virtual.circuit import Circuit
    from coilbench.board.virtual.windings import Windings

SAMPLES, RISES = 64, 16
_STEPS = 1024
_CLIP_OHM = 0.05
_PULL_UP_OHM = 35_000.0
_OUTSIDE_OHM = 100.0
_INPUT_LATE_S = 0.3e-6
_STEPS_TO_RISE = 24
_NOISE_STEPS = 0.5  # of the converter; common practice
_QUIET_MOST, _PULLED_LEAST, _PULLED_MOST = 24, 614, 922  # as the sketch has them

Refused = tuple[str, int, int]


@dataclass
class VirtualJig:
    """``order`` is which of the windings' leads is on each clip, None for one that hangs in the air.

    ``outside`` are volts, against the board's supply of 1, that something else puts on a clip.
    """

    windings: Windings | None = None
    order: tuple[int | None, ...] = ()
    outside: dict[int, float] = field(default_factory=dict)

    def measure(self, clips: int, high: int, low: int, rng: random.Random) -> Refused | list[int]:
        """Clip ``high`` driven against ``low``, counted from 0: the sum of the samples of each of so many clips.

        Or a refusal: its word, the clip, what was read.
        """
        refusal = self._refusal(clips)
        return refusal or [_sum(share, SAMPLES, rng) for share in self._stands(clips, {high: 1.0, low: 0.0})]

    def rise(
        self, clips: int, driven: dict[int, float], see: int, after_s: float, rng: random.Random
    ) -> Refused | int:
        """The sum of so many looks at clip ``see``, each so long after ``driven`` got their voltage.

        ``driven`` are shares of the supply by clip; or a refusal as of ``measure``.
        """
        refusal = self._refusal(clips)
        if refusal is not None:
            return refusal
        circuit, flows = self._circuit(clips, driven, rising=True), None
        whole_s = max(after_s - _INPUT_LATE_S, 0.05e-6)
        for step in range(_STEPS_TO_RISE):  # short ones first
            shares, flows = circuit.after(whole_s * (2 * step + 1) / _STEPS_TO_RISE**2, flows)
        return _sum(float(shares[see]), RISES, rng)

    def _refusal(self, clips: int) -> Refused | None:
        for clip, share in enumerate(self._stands(clips, {})):
            if share * _STEPS > _QUIET_MOST:
                return "volt", clip, _raw(share)
        for clip, share in enumerate(self._stands(clips, {}, pulled=True)):
            if not _PULLED_LEAST <= share * _STEPS <= _PULLED_MOST:
                return "wire", clip, _raw(share)
        return None

    def _stands(self, clips: int, driven: dict[int, float], *, pulled: bool = False) -> list[float]:
        """The voltage of each clip as a share of the board's supply, once the currents stand."""
        return [float(share) for share in self._circuit(clips, driven, pulled=pulled).stands()[:clips]]

    def _circuit(
        self, clips: int, driven: dict[int, float], *, pulled: bool = False, rising: bool = False
    ) -> Circuit:
        import numpy as np

        from coilbench.board.virtual.circuit import Circuit
        from coilbench.board.virtual.inductances import inductance_henry

        nodes, edges = (0, []) if self.windings is None else self.windings.network
        joins = [(clip, clips + lead, _CLIP_OHM) for clip, lead in enumerate(self.order[:clips]) if lead is not None]
        branches = [*((clips + u, clips + v, ohm) for u, v, ohm in edges), *joins]
        incidence = np.zeros((clips + nodes, len(branches)))
        for number, (u, v, _) in enumerate(branches):
            incidence[u, number], incidence[v, number] = 1.0, -1.0
        henry = np.zeros((len(branches), len(branches)))
        if rising and self.windings is not None:
            henry[: len(edges), : len(edges)] = inductance_henry(self.windings)
        holds = [(clip, BLEED_OHM, 0.0) for clip in range(clips)]
        holds += [(clip, _PULL_UP_OHM, 1.0) for clip in range(clips) if pulled]
        holds += [(clip, DRIVE_OHM, share) for clip, share in driven.items()]
        holds += [(clip, _OUTSIDE_OHM, share) for clip, share in self.outside.items()]
        may_clamp = [clip for clip in range(clips) if clip not in driven and clip not in self.outside]
        return Circuit(incidence, np.diag([ohm for _, _, ohm in branches]), henry, holds, may_clamp)


def _sum(share: float, looks: int, rng: random.Random) -> int:
    return sum(_raw(share + rng.gauss(0.0, _NOISE_STEPS) / _STEPS) for _ in range(looks))


def _raw(share: float) -> int:
    return min(max(int(share * _STEPS), 0), _STEPS - 1)
