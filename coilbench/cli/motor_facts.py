"""What the bin knows of one motor, for the commands that take ``--motor NAME``."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from typing import Any, Self

from coilbench.cli.output import note
from coilbench.errors import InputProblem
from coilbench.quantity import QuantityError, parse_quantity
from coilbench.rating.frames import Body
from coilbench.rating.label import Label, kept_label
from coilbench.rating.rate import half_winding_ohm, motor_leads, saved_body
from coilbench.winding.engine.fitness import Fitness, check_usable, fitness

# The unit that is usual at a bench for each kind: said back, never assumed.
_TYPED = {
    "ampere": "A", "volt": "V", "ohm": "ohm", "henry": "mH", "metre": "mm", "second": "ms", "celsius": "C",
    "kelvin": "K", "hertz": "Hz",
}  # fmt: skip


def quantity(text: str | None, option: str, unit: str) -> float | None:
    """The option's value in ``unit``, None when it wasn't given; the error names the option."""
    if text is None:
        return None
    try:
        return parse_quantity(text, unit)
    except QuantityError as problem:
        try:
            parse_quantity(text, unit, bare=True)
        except QuantityError as without_unit:  # more than the unit is wrong with it
            raise QuantityError(f"{option}: {without_unit.happened}") from None
        if unit not in _TYPED:
            raise QuantityError(f"{option}: {problem.happened}") from None
        usual = "rpm" if option in ("--speed", "--drill") else _TYPED[unit]
        example = f'{option} "{text.strip()} {usual}"'
        raise QuantityError(f"{option}: {text.strip()!r} has no unit, expected it with one: {example}") from None


def lead_count(text: str | None) -> int | None:
    """The lead count of a two-phase motor as given with ``--leads``, None when it wasn't."""
    if text is None:
        return None
    if text.strip() not in ("4", "5", "6", "8"):
        raise InputProblem(f"--leads {text!r}: expected 4, 5, 6 or 8, those of a two-phase motor")
    return int(text)


def add_motor_arguments(parser: argparse.ArgumentParser, keeps: str) -> None:
    """What every command about one motor takes; ``keeps`` says what it saves."""
    parser.add_argument("--motor", metavar="NAME", help="take what the bin knows of this motor")
    parser.add_argument("--save", action="store_true", help=f"keep {keeps} with --motor")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


@dataclass(frozen=True, slots=True)
class MotorFacts:
    """The saved stages of a motor; all empty without ``--motor``."""

    stages: dict[str, dict[str, Any]] = field(default_factory=dict)

    @classmethod
    def of(cls, args: argparse.Namespace) -> Self:
        """The facts of the motor that the arguments name. Raises InputProblem for ``--save`` without one."""
        if args.motor is None:
            if args.save:
                raise InputProblem("--save without a motor: expected --motor NAME to keep it with")
            return cls()
        from coilbench.records.paths import bin_path
        from coilbench.records.store import Bin

        path = args.bin or bin_path()
        if not path.exists():  # looking must not begin a bin
            raise InputProblem(f"there is no bin at {path} yet", remedy="it begins with the first motor")
        with Bin.open(path) as bin_:
            stages = bin_.facts(args.motor)
        found = fitness(stages.get("windings"))
        if found.usable and found.line:
            note(f"warning: {args.motor}: {found.line}")
        return cls(stages)

    def check_usable(self) -> Fitness:
        """What a fault leaves of the motor. Raises Fault where that is nothing."""
        return check_usable(self.stages.get("windings"))

    @staticmethod
    def put(args: argparse.Namespace, stage: str, fact: dict[str, Any]) -> None:
        """Keep ``fact`` as the motor's ``stage``."""
        from coilbench.records.store import Bin

        with Bin.open(args.bin) as bin_:
            bin_.put_fact(args.motor, stage, fact)

    def stage(self, name: str) -> dict[str, Any]:
        """One stage's fact, empty when nothing was saved."""
        return self.stages.get(name, {})

    @property
    def leads(self) -> int | None:
        return motor_leads(self.stage("windings"))

    @property
    def coil_ohm(self) -> float | None:
        return half_winding_ohm(self.stage("windings"))

    @property
    def body(self) -> Body | None:
        return saved_body(self.stage("intake"))

    @property
    def label(self) -> Label | None:
        return kept_label(self.stage("intake").get("label"))

    @property
    def step_angle_degree(self) -> float | None:
        angle = self.stage("intake").get("step_angle_degree") or self.stage("ratings").get("step_angle_degree")
        if angle is None and self.label is not None:
            angle = self.label.step_angle_degree
        return float(angle) if angle else None
