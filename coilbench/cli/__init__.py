"""The command line: picks the command and loads nothing that it doesn't need."""

from __future__ import annotations

import argparse
import contextlib
import re
import sys
from collections.abc import Sequence
from importlib import import_module
from pathlib import Path
from typing import Any, NoReturn

from coilbench.cautions import FROM_THE_MAINS, MAINS
from coilbench.cli import streams
from coilbench.errors import CoilbenchError, Fault, InputProblem

COMMANDS = {
    "windings": "sort a motor's leads into coils from resistance readings",
    "rate": "what current a motor can take",
    "connect": "the ways to connect a motor, side by side",
    "vref": "the driver's reference voltage for a current, and back",
    "coil": "one coil: how its current dies, L/R drive, inductance by resonance",
    "torque": "pull-out torque against speed, on a supply",
    "jog": "how fast a motor starts and runs without lost steps, over a helper board",
    "axis": "what an axis of a machine asks of its motor: screw, belt, rack, drum, table",
    "fit": "which motor of the bin goes on which axis of a machine",
    "card": "a motor's card on one page, and its label",
    "board": "serial ports, and what a helper board says of itself",
    "bench": "what you have at the bench: drivers, supplies, meters, boards; the usual ones",
    "bin": "the motor bin: list, show, export, import, check",
    "diagnosis": "versions, paths, terminal, settings and ports, to pass on with a question",
}

_CAUTION = f"caution: {FROM_THE_MAINS};\n{MAINS}."


class _Parser(argparse.ArgumentParser):
    """Says what is wrong in one line, without the usage in front of it; -1 kg is a figure, and no option."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self._negative_number_matcher = re.compile(r"-\.?[0-9]")

    def _print_message(self, message: str, file: Any = None) -> None:
        (file or sys.stderr).write(message)  # theirs passes over what can't be written, a full disk too

    def error(self, message: str) -> NoReturn:
        raise InputProblem(message, remedy=f"see {self.prog} --help")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; return its exit status: 0 done, 2 bad input, 3 not enough known, 4 hardware or data fault."""
    streams.make_ready()
    arguments = list(sys.argv[1:] if argv is None else argv)
    where = "coilbench"
    try:
        before, command, after = _split(arguments)
        if command in COMMANDS:
            where = f"coilbench {command}"
        status = _run(before, command, after)
        sys.stdout.flush()
        return status
    except CoilbenchError as problem:
        _say(f"{where}: {problem}")
        return problem.exit_code
    except KeyboardInterrupt:
        if sys.stderr.isatty():
            print(file=sys.stderr)  # the shell goes on in a line of its own
        return 130
    except BrokenPipeError:
        streams.let_go(sys.stdout)  # whoever read our output has gone
        return 141
    except (OSError, MemoryError, RecursionError) as problem:
        named = f"{problem.filename}: " if isinstance(problem, OSError) and problem.filename else ""
        why = getattr(problem, "strerror", None) or str(problem) or "out of memory"
        _say(f"{where}: {Fault(named + why)}")
        streams.let_go(sys.stdout)
        return Fault.exit_code


def _say(line: str) -> None:
    with contextlib.suppress(OSError):
        print(line, file=sys.stderr, flush=True)


def _split(arguments: list[str]) -> tuple[list[str], str | None, list[str]]:
    """The options in front, the command, and what follows it."""
    takes_value = False
    for place, argument in enumerate(arguments):
        if takes_value:
            takes_value = False
        elif argument == "--bin":
            takes_value = True
        elif not argument.startswith("-"):
            return arguments[:place], argument, arguments[place + 1 :]
    return arguments, None, []


def _run(before: list[str], command: str | None, after: list[str]) -> int:
    options = _front_parser()
    try:
        front = options.parse_args([*before, *after] if command == "demo" else before)
    except SystemExit as done:
        return int(done.code or 0)
    if command is None or command == "demo":
        from coilbench.cli.screen import open_bench

        return open_bench(front.bin, demo=command == "demo")
    if command not in COMMANDS:
        raise InputProblem(f"{command!r} is no command, expected one of demo, {', '.join(COMMANDS)}")
    module = import_module(f"coilbench.cli.{command}")
    parser = _Parser(prog=f"coilbench {command}", description=module.HELP, epilog=_CAUTION, allow_abbrev=False)
    parser.add_argument("--bin", type=Path, metavar="PATH", default=front.bin, help="the motor bin's file")
    module.add_arguments(parser)
    try:
        chosen = parser.parse_args(after)
    except SystemExit as done:
        return int(done.code or 0)
    return int(module.run(chosen))


def _front_parser() -> _Parser:
    from coilbench import __version__

    width = max(map(len, COMMANDS))
    listing = "\n".join(f"  {name:<{width}}  {text}" for name, text in [("demo", _DEMO), *COMMANDS.items()])
    parser = _Parser(
        prog="coilbench",
        usage="coilbench [--bin PATH] [COMMAND ...]",
        description="Sort, rate and prove salvaged stepper motors. Without a command the bench opens.",
        epilog=f"commands:\n{listing}\n\ncoilbench COMMAND --help tells more.\n\n{_CAUTION}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--bin", type=Path, metavar="PATH", help="the motor bin's file")
    parser.add_argument("--version", action="version", version=f"coilbench {__version__}")
    return parser


_DEMO = "the bench on a scratch bin, with virtual motors and a virtual meter"
