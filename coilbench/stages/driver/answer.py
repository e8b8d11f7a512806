"""What a driver setting comes to, for the screen, the command and other programs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilbench.stages.form import Answer
from coilbench.stages.head import STOP, Head
from coilbench.stages.to_do import Task

if TYPE_CHECKING:
    from coilbench.driver.finding import Judgement, Situation


@dataclass(frozen=True)
class DriverAnswer(Answer):
    """The setting and what was found about it."""

    situation: Situation | None = None
    judgement: Judgement | None = None
    trimmer_volt: float | None = None
    wires: tuple[str, ...] = ()  # which lead goes where, as it is connected

    @property
    def can_be_set(self) -> bool:
        """Whether nothing says stop."""
        return self.judgement is not None and not self.judgement.stops

    @property
    def chip(self) -> str:
        """The chip's name."""
        assert self.situation is not None
        return self.situation.chip.chip

    def why_unused(self, field_id: str) -> str:
        """Why what is typed in a field counts for nothing with this chip; empty where it counts."""
        assert self.situation is not None
        chip = self.situation.chip
        if field_id == "sense" and chip.internal_sense_ohm is not None:
            return f"the sense resistor of {chip.chip} is inside the chip"
        if field_id == "sense" and self.situation.setting.sense_ohm is None:
            return f"the current of {chip.chip} does not depend on an outside resistor"
        if field_id in ("series", "clamp") and chip.formula.regulates:
            return f"{chip.chip} sets the current itself"
        return ""

    @property
    def head(self) -> Head:
        from coilbench.driver.report import at_a_glance

        assert self.situation is not None and self.judgement is not None
        rows = tuple(f"{name}: {text}" for name, text in self.rows if name not in ("because", "tolerance"))
        if self.judgement.stops:
            stop = self.judgement.stops[0]
            says = self.headline.removeprefix(STOP)
            doubt = "; ".join(filter(None, (stop.fact, stop.consequence)))
            return Head(says, "stop", doubt=doubt, act=stop.remedy, why=(*self.findings[1:], *rows))
        figure, says, doubt = at_a_glance(self.situation, self.judgement)
        act = "F5: how to set it, step by step" if self.to_do[1] else "nothing is to be done"
        return Head(says, "answer", figure, doubt=doubt, act=act, why=(self.reason, *self.findings, *rows))

    @property
    def headline(self) -> str:
        """The one thing to set, in a line."""
        from coilbench.driver.report import headline

        assert self.situation is not None and self.judgement is not None
        return headline(self.situation, self.judgement)

    @property
    def reason(self) -> str:
        """Why that is the one to set."""
        from coilbench.driver.report import reason

        assert self.situation is not None
        return reason(self.situation)

    @property
    def findings(self) -> list[str]:
        """One line a finding, most serious first."""
        from coilbench.driver.report import finding_lines

        assert self.judgement is not None
        return finding_lines(self.judgement)

    @property
    def to_do(self) -> tuple[str, list[str]]:
        """A heading and what to do; where it says stop, what to change first."""
        from coilbench.driver.report import to_do

        assert self.situation is not None and self.judgement is not None
        return to_do(self.situation, self.judgement, self.wires)

    @property
    def tasks(self) -> tuple[Task, ...]:
        """What to do to set it, to be ticked; none where it says stop."""
        from coilbench.driver.procedure import steps_to_set

        assert self.situation is not None and self.judgement is not None
        if self.judgement.stops:
            return ()
        return tuple(
            Task(each.act, each.caution) for each in steps_to_set(self.situation, self.judgement, self.wires)
        )

    @property
    def rows(self) -> list[tuple[str, str]]:
        """The figures of the setting as names and values, the chip first."""
        from coilbench.driver.report import set_rows

        assert self.situation is not None and self.judgement is not None
        return set_rows(self.situation, self.judgement, self.trimmer_volt)

    def as_json(self) -> dict[str, Any]:
        """The answer as one JSON-plain object, SI units."""
        from coilbench.driver.report import result_object

        assert self.situation is not None and self.judgement is not None
        return result_object(self.situation, self.judgement)
