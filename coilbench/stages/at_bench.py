"""What is at the bench, for the stages that start from it; what was typed there is remembered for the next motor."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.checks import free_name
from coilbench.records.saved.own import Own, OwnBench, OwnBoard, OwnDriver, OwnMeter, OwnSupply, OwnWatch
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk

Taken = Mapping[str, Own]  # the fields that start from a thing of the bench, each with it


def driver_with(bench: OwnBench, chip: str) -> OwnDriver | None:
    """The driver at the bench that has this chip, the usual one for no chip; None where it can't be told."""
    usual = bench.usual(OwnDriver)
    if not chip or (usual is not None and usual.chip == chip):
        return usual
    found = [each for each in bench if isinstance(each, OwnDriver) and each.chip == chip]
    return found[0] if len(found) == 1 else None


def words(thing: Own) -> str:
    """What a thing is, in a few words."""
    match thing:
        case OwnDriver():
            sink = {"": "", "yes": "heat sink"}.get(thing.sink, f"heat sink {thing.sink}")
            return ", ".join(filter(None, (thing.chip, thing.sense and f"sense {thing.sense}", sink)))
        case OwnSupply():
            return thing.supply
        case OwnMeter():
            four = ", four wires" if thing.wires == "4" else ""
            return f"{thing.accuracy}, on {thing.port}{four}" if thing.port else thing.accuracy
        case OwnBoard():
            return f"on {thing.port}"
        case OwnWatch():
            return "an index sensor tells" if thing.watch == "sensor" else "a flag, watched by eye"


def usual_name(thing: Own) -> str:
    """What a thing goes by that was given no name."""
    match thing:
        case OwnDriver():
            return " ".join(filter(None, (thing.chip, thing.sense)))
        case OwnBoard():
            return thing.port.rstrip("/").rpartition("/")[2] or thing.port
        case OwnWatch():
            return "index sensor" if thing.watch == "sensor" else "flag"
        case _:
            return words(thing)


def note(desk: Desk, thing: Own) -> str:
    """Remember what was typed for the desk's motor, unless it is at the bench already; a few words on it, or none.

    What the same motor's work had brought is put right by it, as long as nobody changed that by hand.
    """
    if desk.read_only:
        return ""
    of_kind = [each for each in desk.own if each.kind == thing.kind]
    noted = next((each for each in of_kind if each.noted_at == desk.motor and _same_one(each, thing)), None)
    if any(_plain(each) == _plain(thing) for each in of_kind):
        return ""
    others = [each.name for each in of_kind if each is not noted]
    thing = replace(thing, name=free_name(usual_name(thing), others), noted_at=desk.motor)
    if noted is None:
        writing.put_own(desk.bin, thing)
    else:
        writing.put_own(desk.bin, replace(thing, usual=noted.usual), instead_of=noted.name)
    return f"remembered at your bench: {words(thing)}"


def _same_one(before: Own, thing: Own) -> bool:
    """Whether what was typed later puts the earlier right: of a driver with another chip it doesn't."""
    return not (isinstance(before, OwnDriver) and isinstance(thing, OwnDriver)) or before.chip == thing.chip


def _plain(thing: Own) -> Own:
    return replace(thing, name="", usual=False, noted_at="")


def bring(desk: Desk, path: Path) -> None:
    """Put what is at the bench of the bin at ``path`` within reach of a desk whose motor is kept nowhere.

    Raises the faults of ``records.problems``; where there is no bin there is nothing to bring.
    """
    if not path.exists():  # looking must not begin a bin
        return
    with Bin.open(path) as own_bin:
        things = own_bin.own()
    for each in things:
        with contextlib.suppress(InputProblem):
            writing.put_own(desk.bin, each)
