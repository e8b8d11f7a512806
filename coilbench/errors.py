"""The errors a person can meet: each says what happened and what to do about it."""

from __future__ import annotations

import os
import re
import sys
from typing import ClassVar

STARTED_AS = "COILBENCH_STARTED_AS"  # how the command was typed, handed on by the checkout's start
_ADVICE = re.compile(r"(?<![\w/.-])coilbench (?=--bin|bin|board|connect|demo|diagnosis|jog|rate|vref|windings)")


def as_started(text: str) -> str:
    """``text`` with the commands it advises named as this one was started, such as ``python3 coilbench``."""
    return _ADVICE.sub(lambda _: f"{_started_as()} ", text)


def _started_as() -> str:
    typed = os.environ.get(STARTED_AS)
    if typed:
        return typed
    program = sys.argv[0]
    if program.endswith(os.path.join("coilbench", "__main__.py")):
        return "python3 -m coilbench"
    if os.path.basename(program) == "coilbench" and os.path.dirname(program):
        from shlex import quote
        from shutil import which

        if which("coilbench") is None:
            return quote(program)
    return "coilbench"


class CoilbenchError(Exception):
    """Base of every error that is shown to a person.

    ``happened`` is one line; ``title`` heads a dialog; ``remedy`` says what to do. The commands end with
    ``exit_code``.
    """

    exit_code: ClassVar[int] = 4
    usual_title: ClassVar[str] = "Something went wrong"

    def __init__(self, happened: str, *, title: str = "", remedy: str = "") -> None:
        super().__init__(happened)
        self.happened = " ".join(happened.split())
        self.title = title or self.usual_title
        self.remedy = as_started(remedy)

    def __str__(self) -> str:
        return f"{self.happened}; {self.remedy}" if self.remedy else self.happened


class InputProblem(CoilbenchError):
    """Something typed or fed in can't be used as it is."""

    exit_code = 2


class NotEnoughKnown(CoilbenchError):
    """The question can't be answered yet."""

    exit_code = 3
    usual_title = "Not yet"


class Fault(CoilbenchError):
    """The hardware, the link or the data is at fault."""

    exit_code = 4
