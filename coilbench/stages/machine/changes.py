"""What would have to change so that an axis that nothing drives yet is driven, the cheapest first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile

import numpy as np

from coilbench.motion.axis.fit import margin_text
from coilbench.quantity import format_quantity, plain_number
from coilbench.stages.axis.build import number
from coilbench.stages.axis.fields import read
from coilbench.stages.connection.at_hand import AtHand, driver_at_hand
from coilbench.stages.machine.machine import Machine
from coilbench.stages.machine.weighing import OnAxis, Rows, Stock, Wanted, Weighed, reckon

COSTS = ("nothing", "what you have", "a part", "a purchase")
_SLOWER = (0.8, 0.65, 0.5, 0.35, 0.25, 0.17, 0.1)
_GENTLER = (0.5, 0.25, 0.1)
_LIKELIEST = 3  # motors, or pairs, that are reckoned with at first
_GEARS = (2, 3, 5, 10)
_SUPPLIES = (12.0, 24.0, 36.0, 48.0)
_SUPPLY_SHARE = 0.9  # of what the driver stands (common practice)


@dataclass(frozen=True)
class Change:
    """One change that by itself makes the axis work. ``cost`` is one of ``COSTS``; without ``motors`` it is a motor
    that isn't there."""

    axis: str
    says: str
    cost: str
    margin: float | None = None
    motors: tuple[str, ...] = ()

    @property
    def act(self) -> str:
        """What to do, and what that costs."""
        return f"{self.says} (costs {self.cost})"

    @property
    def text(self) -> str:
        """The same with the motors that do then."""
        if self.margin is None:
            return self.act
        return f"{self.act}: {' + '.join(self.motors)}, margin {margin_text(self.margin)}"


@dataclass(frozen=True)
class _Try:
    """A change to be tried, ``steps`` of it from little to much: the first that is enough counts."""

    cost: str
    steps: Sequence[tuple[str, Wanted]]


class _Step:
    """One step of a change: the motors that may have the margin then, the likeliest first."""

    def __init__(self, says: str, wanted: Wanted, stock: Stock, free: Collection[int]) -> None:
        self.says, self._weighed, self._enough = says, Weighed(wanted, stock, free), wanted.axis.wanted_margin
        most = self._weighed.most[self._weighed.sets].min(axis=1)
        likely = np.argsort(-most, kind="stable")
        self._sets = self._weighed.sets[likely[: np.count_nonzero(most >= self._enough)]]

    def ask(self, first: int, last: int | None) -> tuple[Weighed, Rows]:
        """Some of them, to be reckoned."""
        return self._weighed, self._sets[first:last].ravel()

    @property
    def best(self) -> tuple[float, tuple[OnAxis, ...]] | None:
        """Of those that are reckoned, with its margin; None where none has enough."""
        margins = self._weighed.margins[self._sets].min(axis=1)
        enough = np.nan_to_num(margins) >= self._enough
        if not enough.any():
            return None
        there = int(np.argmax(np.where(enough, margins, 0.0)))
        return float(margins[there]), self._weighed.on_axis(self._sets[there])


def changes_for(short: Sequence[Wanted], machine: Machine, stock: Stock, free: Collection[int]) -> tuple[Change, ...]:
    """For axes that are short of a motor, with the motors that no other axis needs (by their number).

    Each change is weighed anew, with the likeliest motors first, and with more only where none of those does.
    """
    tries = [(wanted, each) for wanted in short for each in sorted(_tries(wanted, machine), key=_cost)]
    steps = [[_Step(*step, stock, free) for step in each.steps] for _, each in tries]
    reckon(step.ask(0, _LIKELIEST) for each in steps for step in each)
    reckon(step.ask(_LIKELIEST, None) for each in steps for step in takewhile(lambda step: not step.best, each))
    found: dict[str, list[Change]] = {wanted.axis.name: [] for wanted in short}
    for (wanted, each), tried in zip(tries, steps, strict=True):
        for step in tried:
            if step.best is not None:
                margin, there = step.best
                names = tuple(one.motor.name for one in there)
                found[wanted.axis.name].append(Change(wanted.axis.name, step.says, each.cost, margin, names))
                break
    for wanted in (each for each in short if each.at_hand.takes(each.supply_volt)):
        found[wanted.axis.name].append(_another_motor(wanted, Weighed(replace(wanted, motors=1), stock)))
    return tuple(change for each in found.values() for change in each)


def _cost(each: _Try) -> int:
    return COSTS.index(each.cost)


def _tries(wanted: Wanted, machine: Machine) -> Iterator[_Try]:
    values = read(wanted.axis.kind, wanted.texts)
    table = wanted.axis.kind == "table"

    def scaled(key: str, unit: str, shares: Sequence[float], words: Callable[[str], str]) -> list[tuple[str, Wanted]]:
        value = number(values, key)
        return [
            (words(_shown(value * each, unit)), wanted.changed(**{key: _text(value * each, unit)})) for each in shares
        ]

    speed_unit = "hertz" if table else "metre_per_second"
    yield _Try("nothing", scaled("speed", speed_unit, _SLOWER, lambda to: f"run it at {to}"))
    if "acceleration" in values:
        unit = "radian_per_second2" if table else "metre_per_second2"
        yield _Try("nothing", scaled("acceleration", unit, _GENTLER, lambda to: f"speed it up by {to}"))
    for supply in machine.supplies:
        if supply.volt != wanted.supply_volt:
            yield _Try("what you have", [(f"feed it from {supply.name!r}", replace(wanted, supply_volt=supply.volt))])
    for board in machine.drivers:
        if board != wanted.axis.driver:
            at_hand = driver_at_hand(board.at_hand)
            kind = board.kind or at_hand.kind or "bipolar"
            yield _Try(
                "what you have", [(f"drive it with {board.name!r}", replace(wanted, at_hand=at_hand, kind=kind))]
            )
    if number(values, "incline", 0.0) > 0 and number(values, "mass", 0.0) > 0:
        to = scaled("mass", "kilogram", (0.75, 0.5, 0.25), lambda left: f"a counterweight that leaves {left} to lift")
        yield _Try("a part", to)
    gear = number(values, "gear", 1.0)
    yield _Try("a part", [(f"gear it {gear * each:g}:1", wanted.changed(gear=f"{gear * each!r}")) for each in _GEARS])
    if wanted.motors == 1:
        yield _Try("what you have", [("a second motor of the same kind on it", replace(wanted, motors=2))])
    else:
        yield _Try("a part", [("one motor, its sides joined by a shaft or a belt", replace(wanted, motors=1))])
    yield _Try(
        "a purchase",
        [(f"a supply of {volt:g} V", replace(wanted, supply_volt=volt)) for volt in _other_volts(wanted)],
    )
    other = "bipolar" if wanted.kind == "unipolar" else "unipolar"
    yield _Try("a purchase", [(f"a {other} chopping driver", replace(wanted, at_hand=AtHand(other), kind=other))])
    if wanted.at_hand.limit_peak_ampere is not None:
        more = wanted.at_hand._replace(limit_peak_ampere=None)
        yield _Try("a purchase", [("a driver that carries the motor's full current", replace(wanted, at_hand=more))])


def _other_volts(wanted: Wanted) -> list[float]:
    """Supplies that the driver takes: higher ones, where it takes the one that it has."""
    least = wanted.supply_volt if wanted.at_hand.takes(wanted.supply_volt) else 0.0
    most = wanted.at_hand.most_volt
    return [
        volt
        for volt in _SUPPLIES
        if volt > least and wanted.at_hand.takes(volt) and (most is None or volt <= _SUPPLY_SHARE * most)
    ]


_SYMBOLS = {"hertz": "Hz", "metre_per_second": "m/s", "metre_per_second2": "m/s2", "radian_per_second2": "rad/s2",
            "kilogram": "kg"}  # fmt: skip


def _text(value: float, unit: str) -> str:
    return f"{value!r} {_SYMBOLS[unit]}"


def _shown(value: float, unit: str) -> str:
    return f"{plain_number(60 * value, 3)} rpm" if unit == "hertz" else format_quantity(value, unit, 2)


def _another_motor(wanted: Wanted, weighed: Weighed) -> Change:
    """What a motor would have to be, since those that there are don't do."""
    axis, margin = wanted.axis, wanted.axis.wanted_margin
    one = next(iter(weighed.on_axis(weighed.sets[:1].ravel())), None)
    if one is None:
        return Change(axis.name, "a motor that its driver can drive", "a purchase")
    asked, rpm = one.worth.asked, 60 * one.worth.asked.rate_sps / one.motor.steps_per_turn
    torque = format_quantity(margin * asked.total_newton_metre / wanted.motors, "newton_metre", 2)
    says = f"a motor that pulls {torque} at {plain_number(rpm, 3)} rpm on {wanted.supply_volt:g} V"
    if asked.hold_newton_metre > 0:
        says += f" and holds {format_quantity(margin * asked.hold_newton_metre / wanted.motors, 'newton_metre', 2)}"
    if wanted.motors == 2:
        says = says.replace("a motor that pulls", "two alike that each pull").replace("and holds", "and hold")
    return Change(axis.name, says, "a purchase")
