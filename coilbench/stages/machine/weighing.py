"""What each motor of the bin is worth on an axis, with the driver and the supply that it has there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import numpy.typing as npt

from coilbench.motion.assignment import Place
from coilbench.motion.axis.axis import Motor
from coilbench.motion.axis.fit import Array, Asking, Shafts, Worth, Worths
from coilbench.motion.pairs import matching
from coilbench.motion.torque_curve import Several
from coilbench.stages.axis.build import axis_of, number
from coilbench.stages.axis.fields import Texts, Values, read
from coilbench.stages.connection.at_hand import AtHand, driver_at_hand
from coilbench.stages.machine.bin_motors import USUAL_MASS_KILOGRAM, BinMotor, Offer
from coilbench.stages.machine.machine import Machine, MachineAxis

Rows = npt.NDArray[np.intp]
_TURN = 6.283185307179586
_AS_WIRED = 0.0004  # of equals in three digits what is wired so already goes before


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

    @property
    def asking(self) -> Asking:
        """What it asks of each of its motors."""
        kind = self.axis.kind
        values = read(kind, {**self.texts, "motors": str(self.motors)})
        return Asking.of(axis_of(kind, values), *_motion(kind, values))


def _motion(kind: str, values: Values) -> tuple[float, float | None]:
    """Speed and acceleration in metre, or radian, and second; the speed of a table is said in turns."""
    speed = number(values, "speed") * (_TURN if kind == "table" else 1)
    return speed, number(values, "acceleration") if "acceleration" in values else None


class Offered:
    """Motors in every way to connect them to one kind of driver on one supply, a row a way."""

    def __init__(self, ways: Sequence[tuple[int, BinMotor, Offer]]) -> None:
        self.numbers: Rows = np.array([each for each, _, _ in ways], dtype=np.intp)
        self.motors, self.offers = [each for _, each, _ in ways], [each for _, _, each in ways]
        self.driven = Several.of([(each.figures, each.drive) for each in self.offers])
        shafts = zip(self.motors, self.offers, strict=True)
        self.shafts = Shafts.of([(_shaft(motor, offer), offer.proof) for motor, offer in shafts])
        self.as_wired = np.array([each.connection == each.kept for each in self.offers], dtype=bool)

    @cached_property
    def matched(self) -> Rows:
        """Rows of two motors that match, connected alike; shape (pairs, 2)."""
        connection = np.array([each.connection for each in self.offers], dtype=str)
        other = (self.numbers[:, None] < self.numbers) & (connection[:, None] == connection)
        return np.argwhere(other & matching([each.like for each in self.offers]))


def _shaft(motor: BinMotor, offer: Offer) -> Motor:
    return Motor(
        motor.steps_per_turn,
        holding_newton_metre=offer.holding_newton_metre,
        rotor_inertia_kilogram_metre2=motor.rotor_inertia_kilogram_metre2,
    )


class Stock:
    """The motors of the bin; what they make of a driver and a supply is reckoned once."""

    def __init__(self, motors: Sequence[BinMotor]) -> None:
        self.motors = motors
        self._offered: dict[tuple[AtHand, str, float, bool], Offered] = {}

    def offered(self, wanted: Wanted) -> Offered:
        """For the driver and the supply of an axis."""
        at_hand, kind, volt, fine = key = wanted.at_hand, wanted.kind, wanted.supply_volt, wanted.axis.fine
        if key not in self._offered:
            motors = self.motors if at_hand.takes(volt) else ()
            offers = (each.offers(at_hand, kind, volt, fine=fine) for each in motors)
            ways = zip(range(len(motors)), motors, offers, strict=True)
            self._offered[key] = Offered([(n, motor, offer) for n, motor, there in ways for offer in there])
        return self._offered[key]


class Weighed:
    """The motors of the bin on one axis. ``sets`` are the rows that can be there together, one of one motor or two
    that match: those that the axis names, where it names any, of ``only`` these motors."""

    def __init__(self, wanted: Wanted, stock: Stock, only: Collection[int] | None = None) -> None:
        self.wanted, self.offered = wanted, stock.offered(wanted)
        self._worths = Worths(wanted.asking, self.offered.shafts)
        self._pulls = np.full(len(self.offered.offers), np.nan)
        named = wanted.axis.motor_names
        may = np.array(
            [
                (not named or motor.name in named) and (only is None or number in only)
                for number, motor in enumerate(stock.motors)
            ],
            dtype=bool,
        )
        sets = np.arange(len(self._pulls))[:, None] if wanted.motors == 1 else self.offered.matched
        self.sets: Rows = sets[may[self.offered.numbers][sets].all(axis=1)]

    @property
    def margins(self) -> Array:
        """Of each row: nan until it is reckoned."""
        return self._worths.margins(self._pulls)

    @property
    def most(self) -> Array:
        """Of each row: no margin is larger than this."""
        return self._worths.margins(self.offered.driven.at_most(self._worths.rate_sps))

    def on_axis(self, rows: Iterable[int]) -> tuple[OnAxis, ...]:
        """These ways, which have to be reckoned."""
        motors, offers = self.offered.motors, self.offered.offers
        return tuple(OnAxis(motors[row], offers[row], self._worths.of(row, self._pulls)) for row in rows)

    def missing(self, rows: Rows) -> Rows:
        """Those of the rows that aren't reckoned yet, each once."""
        return np.unique(rows[np.isnan(self._pulls[rows])])

    def ask(self, rows: Rows) -> tuple[Several, Array]:
        """The motors of these rows as they are driven, and the rate of each."""
        return self.offered.driven.rows(rows), self._worths.rate_sps[rows]

    def take(self, rows: Rows, pulls_newton_metre: Array) -> None:
        """What they pull there by the model."""
        self._pulls[rows] = pulls_newton_metre


def reckon(wanted: Iterable[tuple[Weighed, Rows]]) -> None:
    """What the motors of all these rows pull, at once: most of its time goes with the steps through time, not with
    the number of motors."""
    by_current: dict[bool, list[tuple[Weighed, Rows]]] = {}
    for weighed, rows in wanted:
        if len(missing := weighed.missing(rows)):
            by_current.setdefault(weighed.offered.driven.microstepping, []).append((weighed, missing))
    for todo in by_current.values():
        motors, rates = zip(*(weighed.ask(rows) for weighed, rows in todo), strict=True)
        pulls = Several.joined(motors).torque(np.concatenate(rates))
        ends = np.cumsum([len(rows) for _, rows in todo])[:-1]
        for (weighed, rows), found in zip(todo, np.split(pulls, ends), strict=True):
            weighed.take(rows, found)


class Choices:
    """All that can be on an axis: by the numbers of the motors, how each is best connected there."""

    def __init__(self, weighed: Weighed) -> None:
        """All rows have to be reckoned."""
        self.wanted, self._weighed = weighed.wanted, weighed
        margins = weighed.margins
        ahead = np.round(margins, 3) + _AS_WIRED * weighed.offered.as_wired
        sets = weighed.sets[np.argsort(-ahead[weighed.sets].min(axis=1), kind="stable")[::-1]]
        numbers = map(tuple, weighed.offered.numbers[sets].tolist())
        self._rows = dict(zip(numbers, sets.tolist(), strict=True))  # the best way of each comes last, and stays
        self._margins = margins

    @property
    def place(self) -> Place:
        """Margins in shares of the wanted one, for the assignment."""
        wanted = self.wanted.axis.wanted_margin
        worths = {motors: min(self._margins[rows]) / wanted for motors, rows in self._rows.items()}
        if self.wanted.motors == 1:
            return Place(by_motor={one: worth for (one,), worth in worths.items()})
        return Place(by_pair={(one, other): worth for (one, other), worth in worths.items()})

    @property
    def is_empty(self) -> bool:
        return not self._rows

    def there(self, motors: tuple[int, ...]) -> tuple[OnAxis, ...]:
        """These motors on the axis; nothing for none."""
        return self._weighed.on_axis(self._rows.get(motors, ()))

    @property
    def every_motor(self) -> tuple[OnAxis, ...]:
        """All that can be there, as it is best connected."""
        return self._weighed.on_axis({row for rows in self._rows.values() for row in rows})


def choices_of(machine: Machine, stock: Stock) -> list[Choices]:
    """What can be on each axis of a machine. What rides on an axis weighs on it: its mass, and its motors.

    A carried motor that isn't chosen yet weighs as much as the heaviest of those that would do, unless the file says.
    """
    found: dict[str, Weighed] = {}
    weight: dict[str, float] = {}
    for axis in machine.carried_first():
        mass = axis.mass_kilogram + sum(weight[name] for name in axis.carries)
        texts = {**axis.texts, "mass": f"{mass!r} kg"} if axis.carries else axis.texts
        at_hand = driver_at_hand(axis.driver.at_hand)
        kind = axis.driver.kind or at_hand.kind or "bipolar"
        weighed = Weighed(Wanted(axis, texts, at_hand, kind, axis.supply.volt, axis.motors), stock)
        found[axis.name], weight[axis.name] = weighed, mass
        if any(axis.name in each.carries for each in machine.axes):
            weight[axis.name] += axis.motors * _motor_mass(weighed)
    weighed_axes = [found[axis.name] for axis in machine.axes]
    reckon((each, np.arange(len(each.offered.offers))) for each in weighed_axes)
    return [Choices(each) for each in weighed_axes]


def _motor_mass(weighed: Weighed) -> float:
    axis = weighed.wanted.axis
    if axis.motor_mass_kilogram is not None:
        return axis.motor_mass_kilogram
    reckon([(weighed, np.arange(len(weighed.offered.offers)))])
    would_do = np.flatnonzero(weighed.margins >= axis.wanted_margin)
    return max((weighed.offered.motors[row].mass_kilogram for row in would_do), default=USUAL_MASS_KILOGRAM)
