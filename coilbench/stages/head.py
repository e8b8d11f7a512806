"""What stands first at a stage: the question or the answer, its doubt, what to do now; and why, which folds away."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["question", "answer", "stop"]

STOP = "stop: "  # so that it is told without its colour, too


@dataclass(frozen=True, slots=True)
class Head:
    """The one thing of a stage, in at most three lines; ``why`` are the paragraphs behind it.

    ``says`` is the question, the answer as a name, or what a ``figure`` is; a figure is short, such as ``0.674 V``,
    and drawn large. ``leads`` are named after ``says``, each in its own colour. ``doubt`` says how far it is to be
    trusted, ``act`` what to do now.
    """

    says: str
    kind: Kind = "question"
    figure: str = ""
    leads: tuple[str, ...] = ()
    doubt: str = ""
    act: str = ""
    why: tuple[str, ...] = ()

    @property
    def number(self) -> str:
        """The figure without its unit."""
        return self.figure.partition(" ")[0]

    @property
    def unit(self) -> str:
        """The figure's unit."""
        return self.figure.partition(" ")[2]

    @property
    def lines(self) -> tuple[str, ...]:
        """The same as plain lines, the figure in the first."""
        from coilbench.stages.leads import lead_words

        said = " and ".join(map(lead_words, self.leads))
        first = " ".join(part for part in (self.figure, self.says, said) if part)
        if self.kind == "stop":
            first = f"{STOP}{first}"
        return tuple(line for line in (first, self.doubt, self.act) if line)


NOTHING = Head("")
