"""Two records of one motor made one, and one that holds two motors made two."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records import joining, tidying
from coilbench.records.checks import checked_name
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.stages import motor
from coilbench.stages.desk import Desk

_APART = 1.25  # times: two records of one motor don't read so far apart, whatever the meters
_OF_ITS_LOOKS = ("intake", "notes")  # what splitting leaves: the rest was of two motors together


@dataclass(frozen=True, slots=True)
class Joined:
    """Where the bin as it was is kept, and the stages whose facts were taken (merged) or forgotten (split)."""

    backup: Path | None
    took: tuple[str, ...]


def merge(bin: Bin, name: str, other: str) -> Joined:
    """Make one of two records of the same motor: its windings are judged anew by the readings of both. One act.

    Raises InputProblem where they can't be one: other leads, another winding, or ohms too far apart.
    """
    one, two = bin.known(name), bin.known(other)
    if difference := _difference(one, two):
        raise InputProblem(f"{name} and {other} are two motors: {difference}")
    joining.check_merge(bin, name, other)
    backup = bin.back_up()
    with tidying.act(bin, f"{other} merged into {name}", name, other):
        took = joining.merge(bin, name, other)
        _judge_again(Desk(bin, name))
    return Joined(backup, took)


def split(bin: Bin, name: str, new: str, leads: Sequence[str]) -> Joined:
    """Take some leads out of a record as a motor of their own; both windings are judged anew. One act.

    Raises InputProblem for leads that belong together, or aren't there.
    """
    new = checked_name(new)
    joining.check_split(bin, name, new, leads)
    backup = bin.back_up()
    with tidying.act(bin, f"{new} split off {name}", name):
        forgot = joining.split(bin, name, new, leads, _OF_ITS_LOOKS)
        for each in (name, new):
            _judge_again(Desk(bin, each))
    return Joined(backup, forgot)


def _difference(one: Facts, two: Facts) -> str:
    kinds = [each.arrangement for known in (one, two) if (each := known.get(Windings)) is not None]
    if len(set(kinds)) > 1:
        return f"{kinds[0]} and {kinds[1]}"
    ohms = [ohm for known in (one, two) if (ohm := motor.half_winding_ohm(known)) is not None]
    if len(ohms) == 2 and max(ohms) > _APART * min(ohms):
        return f"{ohms[0]:.3g} and {ohms[1]:.3g} ohm"
    return ""


def _judge_again(desk: Desk) -> None:
    """Keep what all readings come to, where that is settled; else what was known before."""
    from coilbench.stages.windings.stage import WindingsStage

    if not desk.readings or not desk.leads:
        return
    before = desk.known.get(Windings)
    desk.withdraw(Windings.stage)
    WindingsStage(desk).work_out()
    if before is not None and Windings.stage not in desk.known:
        desk.derive(before)
