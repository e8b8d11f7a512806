"""The intake stage: name, leads, frame size, label. Every field may stay empty."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.ui.panes.base import Caution, StagePane
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from coilbench.records.store import Bin
    from coilbench.ui.app import BenchApp


@dataclass(frozen=True, slots=True)
class IntakeField:
    """One field: its id, its label, the key in the fact, the unit its figure has, and its help."""

    id: str
    label: str
    help: str
    key: str | None = None
    unit: str | None = None


FIELDS = (
    IntakeField("name", "name", "As on the tape round the motor; all that is known of it stays under a new name."),
    IntakeField(
        "leads", "leads", "The leads' names, as when the motor was added; a lead that has readings must stay."
    ),
    IntakeField(
        "frame",
        "face plate",
        "Square motors: NEMA 17 is 42 mm across the face, NEMA 23 is 57 mm, NEMA 34 is 86 mm. Round: tin can.",
        "frame",
    ),
    IntakeField(
        "diameter", "across (35 mm)", "A round can's diameter, or the face plate's side.", "diameter_metre", "metre"
    ),
    IntakeField("length", "length (40 mm)", "The body's length without the shaft.", "length_metre", "metre"),
    IntakeField(
        "label", "label says", "Anything printed on it: volts, amps, ohms, steps. Copy it as it stands.", "label"
    ),
    IntakeField(
        "step",
        "step angle (1.8)",
        "Degrees of one full step, if printed: 1.8, 0.9, 7.5, 15.",
        "step_angle_degree",
        "degree",
    ),
)


class IntakeInput(Field):
    """A field of the intake, with its own help."""

    def __init__(self, field: IntakeField) -> None:
        super().__init__(id=f"intake-{field.id}", compact=True)
        self.help_title = field.label
        self.help_text = f"{field.help} May stay empty. Enter saves."


class IntakePane(StagePane):
    """A short form; Enter anywhere saves it whole."""

    def compose(self) -> ComposeResult:
        with VerticalScroll(can_focus=False):
            yield Static("what the motor looks like", classes="dialog-title", markup=False)
            for field in FIELDS:
                yield Static(field.label, classes="field-note", markup=False)
                yield IntakeInput(field)
            yield Static("", id="intake-said", markup=False)
            yield Button("save (Enter)", id="intake-save", variant="primary", compact=True)
        yield Caution("motors out of mains machines: supply unplugged and its capacitors empty before you reach in")

    @property
    def bench(self) -> BenchApp:
        return cast("BenchApp", self.app)

    def refresh_from_bin(self) -> None:
        fact = self.bin.fact(self.motor_name, "intake") or {}
        self.query_one("#intake-name", Input).value = self.motor_name
        self.query_one("#intake-leads", Input).value = ", ".join(self.bin.motor(self.motor_name).leads)
        for field in FIELDS:
            if field.key is not None:
                value = fact.get(field.key)
                self.query_one(f"#intake-{field.id}", Input).value = shown(value, field.unit)

    @on(Input.Submitted)
    @on(Button.Pressed, "#intake-save")
    def save(self) -> None:
        said = self.query_one("#intake-said", Static)
        said.remove_class("-problem")
        try:
            fact = self._fact()  # first: what can't be read must not leave the form half saved
            self._save_leads()
            self._save_name()
            self.bin.put_fact(self.motor_name, "intake", fact)
        except CoilbenchError as error:
            said.update(str(error))
            said.add_class("-problem")
            return
        said.update("saved; F3 goes on to the windings")
        self.facts_changed()

    def _save_leads(self) -> None:
        from coilbench.winding.readings.leads import parse_leads

        leads = parse_leads(self.query_one("#intake-leads", Input).value)
        if leads != self.bin.motor(self.motor_name).leads:
            self.bin.set_leads(self.motor_name, leads)

    def _save_name(self) -> None:
        before, name = self.motor_name, self.query_one("#intake-name", Input).value.strip()
        if name != before:
            self.motor_name = self.bin.rename(before, name)
            self.post_message(self.Renamed(before, self.motor_name))

    def _fact(self) -> dict[str, Any]:
        from coilbench.quantity import parse_quantity

        fact: dict[str, Any] = {}
        for field in FIELDS:
            if field.key is None:
                continue
            text = self.query_one(f"#intake-{field.id}", Input).value.strip()
            if not text:
                fact[field.key] = None
            elif field.unit is None:
                fact[field.key] = text
            else:
                fact[field.key] = parse_quantity(text, field.unit, bare=field.unit == "degree")
        return fact

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.ui.facts import fact as line

        saved = bin.fact(motor_name, "intake") or {}
        lines = [
            line(label, str(saved[key])) for label, key in (("frame", "frame"), ("label", "label")) if saved.get(key)
        ]
        if saved.get("step_angle_degree"):
            lines.append(line("step", f"{saved['step_angle_degree']:g}°"))
        return lines


def shown(value: object, unit: str | None) -> str:
    """A saved value as it can be typed again."""
    if value is None:
        return ""
    if unit == "metre" and isinstance(value, float):
        return f"{value * 1000:g} mm"
    return f"{value:g}" if isinstance(value, float) else str(value)
