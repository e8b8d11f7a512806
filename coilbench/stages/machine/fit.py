"""The bin's motors to all axes of a machine at once."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.motion.assignment import assign
from coilbench.motion.pairs import TOLERANCES, not_compared
from coilbench.records.store import Bin
from coilbench.stages.axis.answer import axis_answer
from coilbench.stages.axis.fields import KINDS
from coilbench.stages.machine.answer import FitAnswer
from coilbench.stages.machine.axis_fit import AxisFit
from coilbench.stages.machine.bin_motors import BinMotor, motors_of
from coilbench.stages.machine.budget import budgets_of
from coilbench.stages.machine.changes import changes_for
from coilbench.stages.machine.machine import Machine
from coilbench.stages.machine.setting import against_its_driver
from coilbench.stages.machine.weighing import Choices, OnAxis, Stock, Wanted, choices_of

NOTE = (
    "margins are pull-out torque at the speed over what load and acceleration ask, by the model unless a trial says "
    "otherwise: nine in ten real motors pull between 0.55 and 1.35 times the model"
)


def fit_answer(machine: Machine, bin: Bin) -> FitAnswer:
    """Which motor goes where. Looking only: nothing is kept.

    Raises NotEnoughKnown where no motor is known well enough, InputProblem for a motor that the file names and the
    bin hasn't.
    """
    motors, left_out = motors_of(bin)
    _check_named(machine, motors, left_out)
    if not motors:
        raise NotEnoughKnown(
            "no motor of the bin is sorted and rated yet" if left_out else "there is no motor in the bin yet",
            remedy="sort one with coilbench windings, and rate it with coilbench rate --motor NAME --save",
        )
    stock = Stock(motors)
    choices = choices_of(machine, stock)
    found = assign([each.place for each in choices])
    axes = tuple(_axis_fit(each, each.there(numbers)) for each, numbers in zip(choices, found.chosen, strict=True))
    used = {number for each, numbers in zip(axes, found.chosen, strict=True) if each.fits for number in numbers}
    short = [there.wanted for each, there in zip(axes, choices, strict=True) if not each.fits]
    changes = changes_for(short, machine, stock, set(range(len(motors))) - used)
    return FitAnswer(
        machine,
        axes,
        tuple(changes),
        budgets_of(axes, machine.supplies),
        left_out,
        notes=(NOTE, *_not_measured(axes)),
        short_of=tuple(_too_few_drivers(machine)),
    )


def _check_named(machine: Machine, motors: Sequence[BinMotor], left_out: Sequence[tuple[str, str]]) -> None:
    there, reasons = [each.name for each in motors], dict(left_out)
    for axis in machine.axes:
        where = f"{machine.file}, axis {axis.name!r}, motor"
        for name in axis.motor_names:
            if name in reasons:
                raise NotEnoughKnown(f"{where} {name!r}: {reasons[name]}")
            if name not in there:
                expected = f"one of {', '.join(map(repr, there))}" if there else "one that is"
                raise InputProblem(f"{where}: there is no {name!r} in the bin, expected {expected}")


def _axis_fit(choices: Choices, there: tuple[OnAxis, ...]) -> AxisFit:
    wanted = choices.wanted
    known = {each.id for each in KINDS[wanted.axis.kind]}
    texts = {**wanted.texts, **(_motor_texts(there) if there else {})}
    figures = axis_answer(wanted.axis.kind, {key: text for key, text in texts.items() if key in known})
    found = AxisFit(wanted.axis, there, figures)
    rates = (found.rates_text,) if there else ()
    return replace(
        found,
        findings=(*rates, *_findings(wanted, choices, there), *(each for each in figures.findings if there)),
        warnings=(*_warnings(wanted, choices, there), *figures.warnings),
    )


def _motor_texts(there: tuple[OnAxis, ...]) -> dict[str, str]:
    """The motor as ``coilbench axis`` takes it; of two the weaker one."""
    weaker = min(there, key=lambda each: each.worth.margin)
    texts = {
        "steps": f"{weaker.motor.steps_per_turn!r}",
        "holding_torque": f"{weaker.offer.holding_newton_metre!r} N m",
    }
    inertia = weaker.motor.rotor_inertia_kilogram_metre2
    return texts if inertia is None else texts | {"rotor_inertia": f"{inertia!r} kg m2"}


def _findings(wanted: Wanted, choices: Choices, there: tuple[OnAxis, ...]) -> Iterator[str]:
    for each in there:
        if each.worth.proved:
            yield f"{each.motor.name}: a trial ran faster than this needs, the rate is proved"
        if each.offer.kept and each.offer.kept != each.offer.connection:
            yield f"{each.motor.name} is wired {each.offer.kept}; {each.offer.connection} pulls more here"
    if len(there) == 2:
        unknown = not_compared(there[0].offer.like, there[1].offer.like)
        yield f"a matched pair: {TOLERANCES}" + (f"; not compared: {', '.join(unknown)}" if unknown else "")
    elif wanted.motors == 2 and choices.is_empty and wanted.at_hand.takes(wanted.supply_volt):
        named = " and ".join(wanted.axis.motor_names)
        yield f"{f'{named} do not' if named else 'no two motors'} match: {TOLERANCES}"
    for name in wanted.axis.carries:
        yield f"it carries {name!r}, mass and motors"


def _warnings(wanted: Wanted, choices: Choices, there: tuple[OnAxis, ...]) -> Iterator[str]:
    yield from against_its_driver(wanted.axis)
    for name, each in {each.motor.name: each for each in there or choices.every_motor}.items():
        if each.worth.proved is False and each.offer.proof is not None:
            asked, good_for = each.worth.asked.rate_sps, each.offer.proof.rate_sps
            yield f"{name} is asked {asked:.0f} steps/s, a trial found it good for {good_for:.0f}"
    if there and (margin := min(each.worth.margin for each in there)) < wanted.axis.wanted_margin:
        yield f"a margin of {margin:.2g}, {wanted.axis.wanted_margin:g} is asked"


def _not_measured(axes: Sequence[AxisFit]) -> Iterator[str]:
    chosen = [each for axis in axes for each in axis.there]
    unproved = [each.motor.name for each in chosen if each.worth.proved is None]
    if unproved:
        yield f"no trial yet on the supply and current here: {', '.join(unproved)}; coilbench jog proves the rates"
    usual: dict[tuple[str, ...], list[str]] = {}
    for each in chosen:
        if each.motor.guessed:
            usual.setdefault(each.motor.guessed, []).append(each.motor.name)
    for what, names in usual.items():
        yield f"taken as usual, not measured, {', '.join(what)}: {', '.join(names)}"


def _too_few_drivers(machine: Machine) -> Iterator[str]:
    needed = Counter[str]()
    for axis in machine.axes:
        needed[axis.driver.name] += axis.motors
    for board in machine.drivers:
        if board.count is not None and needed[board.name] > board.count:
            yield f"{needed[board.name]} drivers {board.name!r} are needed, there are {board.count}"
