"""The errors a person can meet: each says what happened and what to do about it."""

from __future__ import annotations

import os
import re
import sys
from typing import ClassVar

from coilbench.plain_text import LONGEST_LINE, inert, shortened

STARTED_AS = "COILBENCH_STARTED_AS"  # how the command was typed, handed on by the checkout's start
_LEAST_HAPPENED = 120  # of a message's line, however long the remedy is
_COMMAND = 20  # in front of the line: which command says it
_ADVICE = re.compile(
    r"(?<![\w/.-])coilbench (?=--bin|axis|bench|bin|board|coil|connect|demo|diagnosis|fit|jog|rate|vref|windings)"
)


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
    ``exit_code``. What the three hold of names, files and typed text is made inert, and the line not endless.
    """

    exit_code: ClassVar[int] = 4
    usual_title: ClassVar[str] = "Something went wrong"

    def __init__(self, happened: str, *, title: str = "", remedy: str = "") -> None:
        super().__init__(happened)
        self.happened = shortened(inert(" ".join(happened.split())))
        self.title = inert(title) or self.usual_title
        self.remedy = "\n".join(inert(line) for line in as_started(remedy).split("\n"))

    def __str__(self) -> str:
        most = LONGEST_LINE - _COMMAND
        if not self.remedy:
            return shortened(self.happened, most)
        happened = shortened(self.happened, max(most - len(self.remedy) - 2, _LEAST_HAPPENED))
        return shortened(f"{happened}; {self.remedy}", most)


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
