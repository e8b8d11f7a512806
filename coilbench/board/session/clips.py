"""A helper board with a motor's leads on its clips: it measures all of them against one another in one go."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.board.client.client import CLIP_NAMES, Helper
from coilbench.board.link.faults import LinkFault, Refused
from coilbench.board.session.session import BoardSession, Progress
from coilbench.errors import Fault, InputProblem
from coilbench.winding.readings.clips import ClipMap, Pair, clip_map, next_pair, to_repeat


class ClipFault(Fault):
    """Something is on the clips that must not be there, or a part of the jig is missing."""


class ClipSession(BoardSession):
    """A board whose clips' pins are driven a pair at a time and are inputs else."""

    clips: tuple[int, ...] = ()  # their digital pins, clip 1 first

    def _set_up(self, helper: Helper) -> None:
        self.clips = helper.clip_pins()
        if not self.clips:
            raise LinkFault(
                f"the sketch on the board ({helper.identity.sketch_version}) can't measure leads on clips",
                title="An older sketch",
                remedy="put the sketch that came with this bench on it",
            )
        helper.lend_to_clips()

    def measure(self, leads: Sequence[str], progress: Progress) -> ClipMap | None:
        """All of these leads, the first on clip 1, measured against one another; None when it was stopped.

        A pair takes a tenth of a second; ``progress`` is told how many were driven. Raises ClipFault, LinkFault,
        Refused, and InputProblem for more leads than clips.
        """
        with self._busy:
            helper = self._connected()
            if len(leads) > len(self.clips):
                raise InputProblem(
                    f"{len(leads)} leads, but the board has {len(self.clips)} clips",
                    remedy="measure them by hand, or take a board with more clips",
                )
            shares: dict[Pair, tuple[float, ...]] = {}
            again: dict[Pair, tuple[float, ...]] = {}
            try:
                while (pair := next_pair(shares, len(leads))) is not None:
                    if self._stopped or self._closed:
                        return None
                    shares[pair] = helper.measure_pair(*pair, len(leads))
                    progress("measuring", float(len(shares)))
                for pair in to_repeat(shares, len(leads)):
                    if self._stopped or self._closed:
                        return None
                    again[pair] = helper.measure_pair(*pair, len(leads))
            except Refused as refusal:
                if refusal.word == "stopped":
                    return None
                raise _clip_fault(refusal, leads) or refusal from refusal
            return clip_map(shares, leads, again)


def _clip_fault(refusal: Refused, leads: Sequence[str]) -> ClipFault | None:
    """What a refusal to drive means at the bench."""
    at = str(refusal.fields.get("at"))
    number = CLIP_NAMES.index(at) + 1 if at in CLIP_NAMES else 0
    lead = f" ({leads[number - 1]})" if 0 < number <= len(leads) else ""
    if refusal.word == "volt":
        return ClipFault(
            f"clip {number}{lead} has voltage with nothing driven; the board measures nothing",
            title="Voltage on a clip",
            remedy="hold the shaft still, and take the motor off every driver and supply",
        )
    if refusal.word == "wire":
        return ClipFault(
            f"clip {number}{lead} isn't alone on its pin, or lacks a part of the jig; the board measures nothing",
            title="Something on a clip",
            remedy="take drivers and arrays off the clips' pins, keep leads off ground, see to the jig's resistors",
        )
    return None
