"""A machine as its file describes it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from coilbench.stages.axis.fields import Texts, read

_COARSE = 2  # microsteps up to which the current is one of squares


@dataclass(frozen=True, slots=True)
class Supply:
    """A supply, or one rail of a computer's: ``computer`` is its size as the design guide's tables name it."""

    name: str
    volt: float
    most_ampere: float | None = None
    computer: str = ""
    rail: str = ""


@dataclass(frozen=True, slots=True)
class DriverBoard:
    """A kind of driver. ``at_hand`` is its chip or the most it carries, as the connection takes it; ``kind`` is
    empty where the chip says it; ``count`` None where nobody counted."""

    name: str
    at_hand: str
    kind: str = ""
    count: int | None = None
    sense: str = ""


@dataclass(frozen=True)
class MachineAxis:
    """An axis: ``texts`` as ``stages.axis`` takes them, and what the machine says of it."""

    name: str
    kind: str
    texts: Texts
    driver: DriverBoard
    supply: Supply
    motors: int = 1
    motor_names: tuple[str, ...] = ()
    carries: tuple[str, ...] = ()
    motor_mass_kilogram: float | None = None
    wanted_margin: float = 2.0

    @property
    def mass_kilogram(self) -> float:
        """What it says it moves, without what it carries."""
        return float(read(self.kind, self.texts).get("mass", 0.0))

    @property
    def microsteps(self) -> int:
        return int(read(self.kind, self.texts).get("microsteps", 1))

    @cached_property
    def fine(self) -> bool:
        """Whether it microsteps so finely that the current follows a sine."""
        return self.microsteps > _COARSE


@dataclass(frozen=True)
class Machine:
    """Axes in the order of the ``file``, as it is called in messages; who carries whom has no loops."""

    name: str
    axes: tuple[MachineAxis, ...]
    drivers: tuple[DriverBoard, ...]
    supplies: tuple[Supply, ...]
    file: str

    def axis(self, name: str) -> MachineAxis:
        """The axis of that name. Raises StopIteration for one that isn't there."""
        return next(each for each in self.axes if each.name == name)

    def carried_first(self) -> Iterator[MachineAxis]:
        """The axes so that each comes after those that it carries."""
        done: set[str] = set()

        def with_carried(axis: MachineAxis) -> Iterator[MachineAxis]:
            for name in axis.carries:
                yield from with_carried(self.axis(name))
            if axis.name not in done:
                done.add(axis.name)
                yield axis

        for axis in self.axes:
            yield from with_carried(axis)
