"""A helper board with a motor's leads on its clips: it measures all of them against one another in one go."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from types import MappingProxyType

from coilbench.board.client.client import CLIP_NAMES, Helper
from coilbench.board.link.faults import LinkFault, Refused
from coilbench.board.session.session import BoardSession, Progress
from coilbench.errors import Fault, InputProblem
from coilbench.winding.readings.clips import ClipMap, Pair, Shares, clip_map, next_pair, to_repeat
from coilbench.winding.readings.kick import KickLook, halves_of, kicks, kicks_of_five
from coilbench.winding.readings.rise import Look, Untellable, pairs_to_time, timed


class ClipFault(Fault):
    """Something is on the clips that must not be there, or a part of the jig is missing."""


class ClipSession(BoardSession):
    """A board whose clips' pins are driven a pair at a time and are inputs else."""

    clips: tuple[int, ...] = ()  # their digital pins, clip 1 first
    _shares: Shares = MappingProxyType({})  # of the pairs that were measured last

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

        def measured(helper: Helper) -> ClipMap:
            shares: dict[Pair, tuple[float, ...]] = {}
            again: dict[Pair, tuple[float, ...]] = {}
            while (pair := next_pair(shares, len(leads))) is not None:
                self._go_on()
                shares[pair] = helper.measure_pair(*pair, len(leads))
                progress("measuring", float(len(shares)))
            for pair in to_repeat(shares, len(leads)):
                self._go_on()
                again[pair] = helper.measure_pair(*pair, len(leads))
            self._shares = shares
            return clip_map(shares, leads, again)

        return self._done(measured, leads)

    def watch_rises(self, leads: Sequence[str], found: ClipMap) -> ClipMap | None:
        """What was just measured, with what rising currents tell: inductances, half a second a coil, and what halves
        of five or eight leads give each other, of eight in a second more; None when it was stopped.

        There is none of it with a sketch that can't watch a current rise. Raises what ``measure`` does.
        """

        def watched(helper: Helper) -> ClipMap:
            ohms = {(one.a, one.b): one.ohm for one in found.readings}
            inductances = []
            for (low, high), ways in pairs_to_time(found, leads).items():
                names = leads[low], leads[high]
                looks = [(self._looking(helper, *way), self._shares[way][way[1]]) for way in ways]
                try:
                    inductances.append(timed(names, ohms[names], looks))
                except Refused as refusal:
                    if refusal.word == "verb":
                        return found
                    raise
            told = replace(found, inductances=tuple(inductances))
            halves = halves_of(told, leads)
            seen = kicks(halves, told, leads, self._kicking(helper)) if halves else kicks_of_five(told)
            return replace(told, kicks=seen)

        return found if found.restless else self._done(watched, leads)

    def _seen(self, helper: Helper, pair: Pair, see: int, cycles: int, hold: int | None = None) -> tuple[int, float]:
        """A look at a rise. Raises Untellable where the board would not drive: the ohms are none the worse for it."""
        self._go_on()
        try:
            return helper.watch_rise(*pair, see, cycles, hold)
        except Refused as refusal:
            if _clip_fault(refusal, ()) is None:
                raise
            raise Untellable("something moved meanwhile: hold the shaft still, and measure again") from refusal

    def _looking(self, helper: Helper, high: int, low: int) -> Look:
        return lambda cycles: self._seen(helper, (high, low), low, cycles)

    def _kicking(self, helper: Helper) -> KickLook:
        return lambda high, low, hold, see, cycles: self._seen(helper, (high, low), see, cycles, hold)

    def _done(self, work: Callable[[Helper], ClipMap], leads: Sequence[str]) -> ClipMap | None:
        with self._busy:
            helper = self._connected()
            if len(leads) > len(self.clips):
                raise InputProblem(
                    f"{len(leads)} leads, but the board has {len(self.clips)} clips",
                    remedy="measure them by hand, or take a board with more clips",
                )
            try:
                return work(helper)
            except _Stopped:
                return None
            except Refused as refusal:
                if refusal.word == "stopped":
                    return None
                raise _clip_fault(refusal, leads) or refusal from refusal

    def _go_on(self) -> None:
        if self._stopped or self._closed:
            raise _Stopped


class _Stopped(Exception):
    """By the person, or the port is closed."""


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
