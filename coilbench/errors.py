"""The errors a person can meet: each says what happened and what to do about it."""

from __future__ import annotations

from typing import ClassVar


class CoilbenchError(Exception):
    """Base of every error that is shown to a person.

    ``happened`` is one line; ``title`` heads a dialog; ``remedy`` says what to do. The commands end with
    ``exit_code``.
    """

    exit_code: ClassVar[int] = 4

    def __init__(self, happened: str, *, title: str = "", remedy: str = "") -> None:
        super().__init__(happened)
        self.happened = " ".join(happened.split())
        self.title = title or "Something went wrong"
        self.remedy = remedy

    def __str__(self) -> str:
        return f"{self.happened}; {self.remedy}" if self.remedy else self.happened


class InputProblem(CoilbenchError):
    """Something typed or fed in can't be used as it is."""

    exit_code = 2


class NotEnoughKnown(CoilbenchError):
    """The question can't be answered yet."""

    exit_code = 3


class Fault(CoilbenchError):
    """The hardware, the link or the data is at fault."""

    exit_code = 4
