"""What a person has at the bench: drivers, supplies, meters, boards, and what watches a shaft.

Texts are as they are typed in the fields that they fill.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar, Literal, TypeVar

from coilbench.records.saved.base import Text, record


@record
class OwnThing:
    """One thing. ``usual``: taken where nothing else is said, one of each kind at most. ``noted_at`` names the motor
    at whose work it was first typed, until it is changed by hand."""

    BRIEF: ClassVar[bool] = True

    name: Text
    usual: bool = False
    noted_at: Text = ""


@record
class OwnDriver(OwnThing):
    """A driver: its chip, the marking of its sense resistors, its heat sink."""

    kind: Literal["driver"] = "driver"
    chip: Text
    sense: Text = ""
    sink: Text = ""


@record
class OwnSupply(OwnThing):
    """A motor supply."""

    kind: Literal["supply"] = "supply"
    supply: Text


@record
class OwnMeter(OwnThing):
    """A meter, by the accuracy its maker prints; ``port`` for one that tells its readings there, over so many
    ``wires``."""

    kind: Literal["meter"] = "meter"
    accuracy: Text
    port: Text = ""
    wires: Text = ""


@record
class OwnBoard(OwnThing):
    """A helper board, by the port it is on."""

    kind: Literal["board"] = "board"
    port: Text


@record
class OwnWatch(OwnThing):
    """What tells that a shaft came back: an ``eye`` on a flag, or an index ``sensor``."""

    kind: Literal["watch"] = "watch"
    watch: Literal["eye", "sensor"] = "eye"


Own = OwnDriver | OwnSupply | OwnMeter | OwnBoard | OwnWatch
KINDS: tuple[str, ...] = ("driver", "supply", "meter", "board", "watch")

O = TypeVar("O", OwnDriver, OwnSupply, OwnMeter, OwnBoard, OwnWatch)  # noqa: E741


@dataclass(frozen=True)
class OwnBench:
    """All that is at the bench, in the order in which it came there."""

    things: tuple[Own, ...] = ()

    def __iter__(self) -> Iterator[Own]:
        return iter(self.things)

    def usual(self, kind: type[O]) -> O | None:
        """The usual one of a kind, None where there is none."""
        return next((each for each in self.things if isinstance(each, kind) and each.usual), None)

    def find(self, kind: str, name: str) -> Own | None:
        """The thing of this kind and name, None where there is none."""
        return next((each for each in self.things if (each.kind, each.name) == (kind, name)), None)
