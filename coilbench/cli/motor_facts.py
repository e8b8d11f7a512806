"""What the bin knows of one motor, for the commands that take ``--motor NAME``."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from typing import Any, Self

from coilbench.cli.output import note
from coilbench.errors import InputProblem
from coilbench.rating.label import Label, kept_label
from coilbench.winding.engine.fitness import Fitness, check_usable, fitness


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
    def label(self) -> Label | None:
        return kept_label(self.stage("intake").get("label"))

    @property
    def step_angle_degree(self) -> float | None:
        angle = self.stage("intake").get("step_angle_degree") or self.stage("ratings").get("step_angle_degree")
        if angle is None and self.label is not None:
            angle = self.label.step_angle_degree
        return float(angle) if angle else None
