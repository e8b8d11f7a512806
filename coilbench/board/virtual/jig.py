"""The leads of a virtual motor on the clips of a virtual board: what a driven pair makes of all of them."""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from coilbench.winding.readings.clips import BLEED_OHM, DRIVE_OHM

if TYPE_CHECKING:
    from coilbench.board.virtual.windings import Windings

SAMPLES = 64
_STEPS = 1024
_CLIP_OHM = 0.05
_PULL_UP_OHM = 35_000.0
_OUTSIDE_OHM = 100.0
_NOISE_STEPS = 0.5  # of the converter; common practice
_QUIET_MOST, _PULLED_LEAST, _PULLED_MOST = 24, 614, 922  # as the sketch has them


@dataclass
class VirtualJig:
    """``order`` is which of the windings' leads is on each clip, None for one that hangs in the air.

    ``outside`` are volts, against the board's supply of 1, that something else puts on a clip.
    """

    windings: Windings | None = None
    order: tuple[int | None, ...] = ()
    outside: dict[int, float] = field(default_factory=dict)

    def measure(self, clips: int, high: int, low: int, rng: random.Random) -> tuple[str, int, int] | list[int]:
        """Clip ``high`` driven against ``low``, counted from 0: the sum of the samples of each of so many clips.

        Or a refusal: its word, the clip, what was read.
        """
        for clip, share in enumerate(self._shares(clips, {}, pulled=False)):
            if share * _STEPS > _QUIET_MOST:
                return "volt", clip, _raw(share)
        for clip, share in enumerate(self._shares(clips, {}, pulled=True)):
            if not _PULLED_LEAST <= share * _STEPS <= _PULLED_MOST:
                return "wire", clip, _raw(share)
        driven = self._shares(clips, {high: 1.0, low: 0.0}, pulled=False)
        return [sum(_raw(share + rng.gauss(0.0, _NOISE_STEPS) / _STEPS) for _ in range(SAMPLES)) for share in driven]

    def _shares(self, clips: int, driven: dict[int, float], *, pulled: bool) -> list[float]:
        """The voltage of each clip as a share of the board's supply."""
        import numpy as np

        nodes, edges = (0, []) if self.windings is None else self.windings.network
        size = clips + nodes
        matrix, current = np.zeros((size, size)), np.zeros(size)
        np.fill_diagonal(matrix, 1e-10)  # what nothing holds stays solvable
        joins = [(clip, clips + lead, _CLIP_OHM) for clip, lead in enumerate(self.order[:clips]) if lead is not None]
        for u, v, ohm in [*((clips + u, clips + v, ohm) for u, v, ohm in edges), *joins]:
            matrix[[u, v], [u, v]] += 1 / ohm
            matrix[[u, v], [v, u]] -= 1 / ohm

        def hold(clip: int, ohm: float, volt: float) -> None:
            matrix[clip, clip] += 1 / ohm
            current[clip] += volt / ohm

        for clip in range(clips):
            hold(clip, BLEED_OHM, 0.0)
            if pulled:
                hold(clip, _PULL_UP_OHM, 1.0)
        for clip, volt in driven.items():
            hold(clip, DRIVE_OHM, volt)
        for clip, volt in self.outside.items():
            hold(clip, _OUTSIDE_OHM, volt)
        return [float(volt) for volt in np.linalg.solve(matrix, current)[:clips]]


def _raw(share: float) -> int:
    return min(max(int(share * _STEPS), 0), _STEPS - 1)
