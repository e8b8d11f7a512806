"""What each motor of the bin is worth on an axis, with the driver and the supply that it has there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace

from coilbench.motion.assignment import Place
from coilbench.motion.axis.axis import Motor
from coilbench.motion.axis.fit import Worth, asked_of, worth_of
from coilbench.motion.pairs import differences
from coilbench.stages.axis.build import axis_of, number
from coilbench.stages.axis.fields import Texts, Values, read
from coilbench.stages.connection.at_hand import AtHand, driver_at_hand
from coilbench.stages.machine.bin_motors import USUAL_MASS_KILOGRAM, BinMotor, Offer
from coilbench.stages.machine.machine import Machine, MachineAxis

_TURN = 6.283185307179586


@dataclass(frozen=True)
class OnAxis:
    """A motor on an axis, connected and driven as there: what it is worth."""

    motor: BinMotor
    offer: Offer
    worth: Worth


@dataclass(frozen=True)
class Wanted:
    """An axis with all that it carries in its mass, its driver and its supply: what a motor is weighed against."""

    axis: MachineAxis
    texts: Texts
    at_hand: AtHand
    kind: str
    supply_volt: float
    motors: int

    def changed(self, **changes: str) -> Wanted:
        """With other texts of the axis."""
        return replace(self, texts={**self.texts, **changes})


def wanted_axes(machine: Machine, motors: Sequence[BinMotor]) -> dict[str, Wanted]:
    """The axes by name. What rides on an axis weighs on it: its mass, and its motors.

    A carried motor that isn't chosen yet weighs as much as the heaviest of those that would do, unless the file says.
    """
    wanted: dict[str, Wanted] = {}
    weight: dict[str, float] = {}
    for axis in machine.carried_first():
        mass = axis.mass_kilogram + sum(weight[name] for name in axis.carries)
        texts = {**axis.texts, "mass": f"{mass!r} kg"} if axis.carries else axis.texts
        at_hand = driver_at_hand(axis.driver.at_hand)
        kind = axis.driver.kind or at_hand.kind or "bipolar"
        found = Wanted(axis, texts, at_hand, kind, axis.supply.volt, axis.motors)
        wanted[axis.name] = found
        weight[axis.name] = mass
        if any(axis.name in each.carries for each in machine.axes):
            weight[axis.name] += axis.motors * _motor_mass(found, motors)
    return wanted


def _motor_mass(wanted: Wanted, motors: Sequence[BinMotor]) -> float:
    if wanted.axis.motor_mass_kilogram is not None:
        return wanted.axis.motor_mass_kilogram
    would_do = [
        motor.mass_kilogram
        for motor in motors
        if any(each.worth.margin >= wanted.axis.wanted_margin for each in weighed(wanted, motor))
    ]
    return max(would_do, default=USUAL_MASS_KILOGRAM)


def weighed(wanted: Wanted, motor: BinMotor, at_least: float = 0.0) -> list[OnAxis]:
    """One motor on an axis in every way to connect it, as one of so many as the axis has; ways that can't have a
    margin of ``at_least`` at any speed are left out."""
    values = read(wanted.axis.kind, {**wanted.texts, "motors": str(wanted.motors)})
    axis, speed, acceleration = axis_of(wanted.axis.kind, values), *_motion(wanted.axis.kind, values)
    shaft = Motor(motor.steps_per_turn, rotor_inertia_kilogram_metre2=motor.rotor_inertia_kilogram_metre2)
    asked = asked_of(axis, shaft, speed, acceleration)
    offers = motor.offers(wanted.at_hand, wanted.kind, wanted.supply_volt, int(number(values, "microsteps", 1)))
    least_newton_metre = at_least * asked.total_newton_metre
    return [
        OnAxis(motor, each, worth_of(asked, each.torque_at(asked.rate_sps), each.holding_newton_metre, each.proof))
        for each in offers
        if each.most_newton_metre >= least_newton_metre
    ]


def _motion(kind: str, values: Values) -> tuple[float, float | None]:
    """Speed and acceleration in metre, or radian, and second; the speed of a table is said in turns."""
    speed = number(values, "speed") * (_TURN if kind == "table" else 1)
    return speed, number(values, "acceleration") if "acceleration" in values else None


@dataclass(frozen=True)
class Choices:
    """All that can be on an axis: by the numbers of the motors, how each is best connected there."""

    wanted: Wanted
    by_motors: dict[tuple[int, ...], tuple[OnAxis, ...]]

    @property
    def place(self) -> Place:
        """Margins in shares of the wanted one, for the assignment."""
        worths = {
            motors: min(each.worth.margin for each in there) / self.wanted.axis.wanted_margin
            for motors, there in self.by_motors.items()
        }
        if self.wanted.motors == 1:
            return Place(by_motor={one: worth for (one,), worth in worths.items()})
        return Place(by_pair={(one, other): worth for (one, other), worth in worths.items()})

    def best(self, free: Iterable[int]) -> tuple[OnAxis, ...]:
        """The best of those that use free motors alone; nothing where none can be there."""
        left = set(free)
        there = [each for motors, each in self.by_motors.items() if left.issuperset(motors)]
        return max(there, key=lambda each: min(one.worth.margin for one in each), default=())


def choices_for(
    wanted: Wanted, motors: Sequence[BinMotor], only: Collection[int] | None = None, at_least: float = 0.0
) -> Choices:
    """Every motor, or every matched pair, that can be on the axis; of ``only`` these, by their number, and of those
    that may have a margin of ``at_least``."""
    named = wanted.axis.motor_names
    there = {
        number: weighed(wanted, motor, at_least)
        for number, motor in enumerate(motors)
        if (not named or motor.name in named) and (only is None or number in only)
    }
    by_motors: dict[tuple[int, ...], tuple[OnAxis, ...]] = {}
    if wanted.motors == 1:
        for one, ways in there.items():
            if ways:
                by_motors[(one,)] = (max(ways, key=_ahead),)
        return Choices(wanted, by_motors)
    for one, ways in there.items():
        for other, others in there.items():
            if one >= other:
                continue
            alike = [
                (a, b)
                for a in ways
                for b in others
                if a.offer.connection == b.offer.connection and not differences(a.offer.like, b.offer.like)
            ]
            if alike:
                by_motors[(one, other)] = max(alike, key=lambda pair: min(map(_ahead, pair)))
    return Choices(wanted, by_motors)


def _ahead(each: OnAxis) -> tuple[float, bool]:
    """By margin; of equals as it is wired already."""
    return round(each.worth.margin, 3), each.offer.connection == each.offer.kept
