"""What the commands about one motor share: whose facts they take, whether they keep, and how fields are options."""

from __future__ import annotations

import argparse
from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from shlex import quote

from coilbench.cli.output import note
from coilbench.errors import Fault, InputProblem, NotEnoughKnown
from coilbench.stages.at_bench import Taken
from coilbench.stages.desk import Desk, desk_of, scratch_desk
from coilbench.stages.form import FieldProblem, Missing
from coilbench.stages.outdated import outdated

Options = Mapping[str, str]  # the option of each field, without its dashes


def add_motor_arguments(parser: argparse.ArgumentParser, keeps: str | None) -> None:
    """What every command about one motor takes; ``keeps`` says what it saves, None where it saves nothing."""
    parser.add_argument("--motor", metavar="NAME", help="take what the bin knows of this motor")
    if keeps is None:
        parser.set_defaults(save=False)
    else:
        parser.add_argument("--save", action="store_true", help=f"keep {keeps} with --motor")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


@contextmanager
def motor_desk(args: argparse.Namespace) -> Iterator[Desk]:
    """The desk of the motor that is named, or of one that is kept nowhere.

    Raises InputProblem for ``--save`` without a motor, and for one that isn't there.
    """
    if args.motor is None:
        if args.save:
            raise InputProblem("--save without a motor: expected --motor NAME to keep it with")
        desk = scratch_desk()
        with desk.bin:
            bring_bench(desk, args.bin)
            yield desk
        return
    from coilbench.records.paths import bin_path
    from coilbench.records.store import Bin

    path = args.bin or bin_path()
    if not path.exists():  # looking must not begin a bin
        raise InputProblem(f"there is no bin at {path} yet", remedy="it begins with the first motor")
    with Bin.open(path) as bin_:
        desk = desk_of(bin_, args.motor)
        warn_of_fault(desk)
        before = _warn_of_outdated(desk)
        yield desk
        _warn_of_outdated(desk, said=before)


def bring_bench(desk: Desk, path: Path | None) -> None:
    """Have what is at the person's bench within reach of a motor that is kept nowhere; where the bin can't be read
    the work goes on without."""
    from coilbench.records.paths import NoHome, bin_path
    from coilbench.stages.at_bench import bring

    try:
        bring(desk, path or bin_path())
    except NoHome:
        return
    except Fault as problem:
        note(f"nothing of your bench is taken: {problem.happened}")


def say_taken(taken: Taken, texts: Mapping[str, str], options: Options, given: Collection[str] = ()) -> None:
    """A line for each thing of the bench that was taken where nothing was ``given``, with the option for another."""
    for thing in dict.fromkeys(taken.values()):
        fields = [field for field, each in taken.items() if each == thing and field not in given and texts.get(field)]
        if fields:
            told = " ".join(f"--{options[field]} {quote(texts[field])}" for field in fields if field in options)
            note(f"your usual {thing.kind}, {thing.name}: {told}")


def warn_of_fault(desk: Desk) -> None:
    """A line for a motor that is faulty but of use."""
    from coilbench.stages.fitness import fitness_of

    found = fitness_of(desk.known)
    if found.usable and found.line:
        note(f"warning: {desk.motor}: {found.line}")


def _warn_of_outdated(desk: Desk, *, said: str = "") -> str:
    """A line for a stage that was kept by figures that have changed since, unless it is ``said``; the line."""
    line = outdated(desk)
    if line and line != said:
        note(f"warning: {desk.motor}: {line}")
    return line


def given(args: argparse.Namespace, options: Options) -> dict[str, str]:
    """The texts of the fields whose options were given."""
    texts = {field: getattr(args, option.replace("-", "_")) for field, option in options.items()}
    return {field: text for field, text in texts.items() if text is not None}


@contextmanager
def named_by_option(options: Options, *, all_given: bool = False) -> Iterator[None]:
    """What is wrong with a field is said of its option. ``all_given``: what is missing should have been given."""
    try:
        yield
    except FieldProblem as problem:
        if problem.field not in options:
            raise
        raise InputProblem(f"--{options[problem.field]}: {problem.what}", remedy=problem.remedy) from None
    except Missing as problem:
        wanted = " or ".join(f"--{options[field]}" for field in problem.fields if field in options)
        if all_given:
            raise InputProblem(problem.happened, remedy=f"give {wanted}") from None
        raise NotEnoughKnown(problem.happened, remedy=f"give {wanted}, or {problem.remedy}") from None
