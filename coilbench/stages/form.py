"""A stage that is a form: fields with texts in, an answer out."""

from __future__ import annotations

import re
from abc import abstractmethod
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import ClassVar, Generic, TypeVar

from coilbench.errors import CoilbenchError, Fault, InputProblem, NotEnoughKnown
from coilbench.stages.at_bench import Taken
from coilbench.stages.head import Head
from coilbench.stages.stage import Known, Stage

Texts = Mapping[str, str]

_NUMBER = re.compile(r"[-+]?[0-9]*[.,]?[0-9]+")


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that can be typed. ``unit`` is the SI unit of its figure as ``quantity`` names it, None for text;
    ``bare`` the unit that a number without one is taken in, the one its hint names; None where the
    trade writes it in several and it must have one. A field that is not
    ``shown`` has no place on the screen; a command may fill it."""

    id: str
    label: str
    hint: str = ""
    help: str = ""
    unit: str | None = None
    bare: str | None = None
    positive: bool = True
    shown: bool = True

    def figure(self, text: str) -> float | None:
        """The figure typed here, in its SI unit; None for nothing. Raises FieldProblem."""
        from coilbench.quantity import QuantityError, parse_quantity

        text = text.strip()
        if not text or self.unit is None:
            return None
        try:
            if not _NUMBER.fullmatch(text):
                return parse_quantity(text, self.unit, positive=self.positive)
            if self.bare is not None:
                return parse_quantity(f"{text} {self.bare}", self.unit, positive=self.positive)
        except QuantityError as problem:
            raise self.problem(problem.happened) from None
        example = f"{text} {self.hint.split()[-1]}"
        raise self.problem(f"{text!r} has no unit, expected one, such as {example!r}")

    def problem(self, what: str) -> FieldProblem:
        """A complaint about what is typed here."""
        return FieldProblem(self.id, what, label=self.label)


class FieldProblem(InputProblem):
    """What is typed in one field can't be used: ``field`` is its id, ``what`` the complaint without its ``label``."""

    def __init__(self, field: str, what: str, *, label: str = "", remedy: str = "") -> None:
        super().__init__(f"{label}: {what}" if label else what, remedy=remedy)
        self.field = field
        self.what = what


class Missing(NotEnoughKnown):
    """What is needed for an answer is not known: ``fields`` are those that would tell it."""

    def __init__(self, fields: tuple[str, ...], happened: str, *, remedy: str = "") -> None:
        super().__init__(happened, remedy=remedy)
        self.fields = fields


@dataclass(frozen=True)
class Answer:
    """What a form comes to, for whoever shows it: ``lines`` the answer, ``notes`` what goes with it, ``known`` the
    same in short for a narrow column. ``can_keep`` is false while there is nothing to keep."""

    lines: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    known: tuple[Known, ...] = ()
    can_keep: bool = True

    @property
    def head(self) -> Head:
        """What stands first of it, and the rest as its why."""
        first = self.lines[0] if self.lines else ""
        return Head(first, "answer" if first else "question", why=(*self.lines[1:], *self.notes))


A = TypeVar("A", bound=Answer)


class FormStage(Stage, Generic[A]):
    """A form: starts with ``texts``, is judged as one types, and kept when one says so.

    ``taken``: the fields that ``texts`` filled in by what is at the bench, ``remembered`` what the last keeping
    brought there, in words.
    """

    FIELDS: ClassVar[tuple[Field, ...]] = ()
    TITLE: ClassVar[str] = ""
    ASKS: ClassVar[str] = ""  # what it finds out, as a question; the title where there is none
    CAUTION: ClassVar[str] = ""
    OFFERS: ClassVar[bool] = False  # an answer by itself, from what is known: who goes on takes it
    FIELDS_APART: ClassVar[bool] = False  # each says something without the others: one may be kept without another

    taken: Taken = MappingProxyType({})
    remembered: tuple[str, ...] = ()

    @abstractmethod
    def texts(self) -> dict[str, str]:
        """The fields as last typed and kept, with what other stages know since."""

    @abstractmethod
    def answer(self, texts: Texts) -> A:
        """What the texts and all that is known come to; writes nothing.

        Raises FieldProblem for a text that can't be read, InputProblem, NotEnoughKnown or Fault for the whole.
        """

    @abstractmethod
    def keep(self, texts: Texts) -> A:
        """Keep the answer to these texts, and return it. Raises what ``answer`` does, and the bin's faults."""

    def head(self, texts: Texts) -> Head:
        """What stands first with these texts: the answer to them, or the question and what it waits for."""
        try:
            return self.head_of(self.answer(texts))
        except CoilbenchError as problem:
            return self.asking(problem)

    def head_of(self, answer: A) -> Head:
        """The head of an answer; the question, where it says nothing yet."""
        head = answer.head
        return head if head.says or head.figure else replace(self.asking(), why=head.why)

    def asking(self, problem: CoilbenchError | None = None) -> Head:
        """The question, and what to do for its answer; ``problem`` is why there is none."""
        if isinstance(problem, Fault):
            return Head(problem.title.lower(), "stop", doubt=problem.remedy, why=(problem.happened,))
        doubt, act = "", "fill in what you know; Enter saves"
        if isinstance(problem, NotEnoughKnown):
            doubt, act = problem.happened, problem.remedy or act
        return Head(self.ASKS or self.TITLE, doubt=doubt, act=act)

    def keep_valid(self, texts: Texts) -> list[FieldProblem]:
        """Keep what can be kept of these texts, and return what is wrong with the rest.

        Raises what ``keep`` does where nothing can be kept.
        """
        kept, left, problems = self.texts(), dict(texts), list[FieldProblem]()
        while not problems or self.typed(left) != self.typed(kept):
            try:
                self.keep(left)
            except FieldProblem as problem:
                wrong = problem.field
                if not self.FIELDS_APART or left.get(wrong, "") == kept.get(wrong, ""):
                    raise
                problems.append(problem)
                left[wrong] = kept.get(wrong, "")
            else:
                return problems
        raise problems[0]

    @classmethod
    def typed(cls, texts: Texts) -> dict[str, str]:
        """The texts that say something, as they are kept."""
        return {each.id: text for each in cls.FIELDS if (text := texts.get(each.id, "").strip())}

    @classmethod
    def rung(cls, texts: Texts) -> list[str]:
        """What became of an inductance that is told by the capacitor it rings with, a line a field."""
        from coilbench.quantity import inductance_by_ringing

        typed = {each.label: texts.get(each.id, "") for each in cls.FIELDS if each.unit == "henry"}
        return [f"{label}: {made}" for label, text in typed.items() if (made := inductance_by_ringing(text))]

    @classmethod
    def field(cls, field_id: str) -> Field:
        """A field by its id. Raises KeyError."""
        return {each.id: each for each in cls.FIELDS}[field_id]

    @classmethod
    def value(cls, texts: Texts, field_id: str) -> float | None:
        """The figure typed in a field, in its SI unit; None for nothing. Raises FieldProblem."""
        return cls.field(field_id).figure(texts.get(field_id, ""))
