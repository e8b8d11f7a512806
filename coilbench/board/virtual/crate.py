"""The crate of virtual motors: the demo's, under the names a person gives them, and those on virtual ports."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.board.virtual.hand_tests import shown
from coilbench.board.virtual.meter import VirtualMeter
from coilbench.board.virtual.motor import VirtualMotor
from coilbench.errors import CoilbenchError

if TYPE_CHECKING:
    from coilbench.winding.order.types import NextTest

_BY_NAME = {motor.name: motor for motor in DEMO_MOTORS}


@dataclass
class VirtualCrate:
    """The demo's motors and one meter. ``names``: those given by the person, to those of the crate."""

    meter: VirtualMeter = field(default_factory=VirtualMeter)
    names: dict[str, str] = field(default_factory=dict)

    def rename(self, before: str, name: str) -> None:
        """Know a motor by another name."""
        if self.has(before):
            self.names[name] = self.names.pop(before, before)

    def has(self, name: str) -> bool:
        """Whether the virtual meter can read this motor."""
        return self.names.get(name, name) in _BY_NAME

    def motor(self, name: str) -> VirtualMotor:
        """The motor of that name. Raises CoilbenchError for one that was added by hand."""
        if not self.has(name):
            raise CoilbenchError(
                f"{name} is a motor of your own; the virtual meter reads only the demo's motors",
                title="no such virtual motor",
                remedy="type what your own meter says, or open one of M-01 to M-12",
            )
        return _BY_NAME[self.names.get(name, name)]

    def measure(self, name: str, a: str, b: str) -> float:
        """What the meter's display says in ohm, inf for OL. Raises CoilbenchError."""
        return self.meter.measure(self.motor(name), a, b)

    def twitch(self, name: str, test: NextTest) -> str:
        """What the shaft or the meter does at a test by hand. Raises CoilbenchError."""
        return shown(self.motor(name).windings, test)


def crate_motor(name: str) -> VirtualMotor:
    """The demo's motor of this name. Raises ValueError for any other name."""
    if name not in _BY_NAME:
        raise ValueError(f"no motor of the demo is called {name}")
    return _BY_NAME[name]


def port_name(frame: str | None) -> str:
    """Which motor of ``port_motors`` stands in on a virtual port for one of this frame: one about its size."""
    if frame in ("NEMA 23", "NEMA 34"):
        return "turntable"
    return "tincan" if (frame or "").endswith("mm can") else "bench"


def port_motor(name: str) -> VirtualMotor:
    """The motor that a virtual port knows by this name. Raises ValueError for any other name."""
    from coilbench.board.virtual.port_motors import PORT_MOTORS

    for motor in PORT_MOTORS:
        if motor.name == name:
            return motor
    raise ValueError(f"no virtual motor is called {name}; there are {', '.join(motor.name for motor in PORT_MOTORS)}")
