"""The driver stage: which chip, its sense resistor, the supply; out comes the reference voltage and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Button, Select, Static

from coilbench.errors import CoilbenchError
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.dialogs.basic import TextDialog
from coilbench.ui.panes.base import Caution
from coilbench.ui.panes.old import OldPane
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.driver.chip import Chip
    from coilbench.driver.finding import Judgement, Situation
    from coilbench.records.store import Bin

SUPPLIES = ("12 V", "24 V")  # common practice at a bench: computer supplies and bricks
FULL_STEP = 0  # in the list of microsteps
CHOOSE_A_CHIP = "choose the chip on your driver board"
WORK_IT_OUT = "fill in what is missing; Enter works it out and saves"


class DriverField(Field):
    """A field of the driver stage, with its own help."""

    def __init__(self, name: str, placeholder: str, help_text: str) -> None:
        super().__init__(id=f"driver-{name}", placeholder=placeholder, compact=True)
        self.help_title = name
        self.help_text = f"{help_text} Enter works it out and saves."


class DriverPane(OldPane):
    """A short form; Enter anywhere works the setting out and saves it."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("driver")
    HELP_TITLE = "driver"
    HELP = (
        "Choose the chip that is printed on the driver, read the marking of its sense resistors (R100 is 0.1 ohm), "
        "and say what supply it gets. The current comes from the connection or ratings; type another to change it. "
        "To learn what a measured reference voltage means, type it into 'measured'."
    )
    WORDS = (
        "A chip with a ? in the list: its figures were not read in its own document. Set the VREF of the bold line, "
        "no other. Peak: the most current a coil gets. RMS: what heats it, 0.71 of the peak when microstepping. Two "
        "phases on: both coils carry current. Equal heat: the higher peak that heats a turning motor no more than "
        "its rating does. Chopping level: where the chip cuts the current off. Blanking: the moment after each "
        "switching in which the chip can't look. Wiper: the trimmer's middle contact. ROSC: a pin that sets the "
        "chip's timing; leave it as the board has it."
    )

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.situation: Situation | None = None
        self.judgement: Judgement | None = None
        self._own: tuple[Chip, ...] = ()

    def compose(self) -> ComposeResult:
        from coilbench.driver.catalogue import all_chips
        from coilbench.records.own_chips import own_chips

        try:
            self._own = own_chips()
        except CoilbenchError as problem:
            self.app.call_later(self.bench.show_problem, problem)
        choices = [
            (chip.chip + ("" if chip.status != "memory" else " ?"), chip.chip) for chip in all_chips(self._own)
        ]
        yield Static("set the driver", classes="dialog-title", markup=False)
        with Horizontal(classes="driver-row"):
            yield Static("chip", markup=False)
            yield Select(choices, prompt="choose", id="driver-chip", compact=True)
        with Horizontal(classes="driver-row"):
            yield Static("sense", markup=False)
            yield DriverField("sense", "its marking", "The marking on the resistors beside the chip, or their ohms.")
        with Horizontal(classes="driver-row", id="driver-seen"):
            for place in range(3):
                yield Button("", id=f"seen-{place}", compact=True)
        with Horizontal(classes="driver-row"):
            yield Static("current", markup=False)
            yield DriverField("current", "amps, peak", "The rated current per coil, two phases on: set as the peak.")
        with Horizontal(classes="driver-row"):
            yield Static("supply", markup=False)
            yield DriverField("supply", "volts", "The motor supply. May stay empty: less can then be judged.")
            for text in SUPPLIES:
                yield Button(text, id=f"supply-{text.split()[0]}", compact=True)
        with Horizontal(classes="driver-row"):
            yield Static("steps", markup=False)
            yield Select([("full step", FULL_STEP)], prompt="finest", id="driver-steps", compact=True)
        with Horizontal(classes="driver-row"):
            yield Static("measured", markup=False)
            yield DriverField("measured", "VREF volts", "A measured reference voltage: says the current it means.")
        with Horizontal(classes="driver-row"):
            yield Button("work out", id="driver-set", variant="primary", compact=True)
            yield Button("to do (F5)", id="driver-steps-button", compact=True)
        yield Static("", id="driver-said", markup=False)
        with VerticalScroll(id="driver-result"):
            yield Static("", id="driver-set-to", markup=False)
            yield Static("", id="driver-findings", markup=False)
            yield Static("", id="driver-to-do", markup=False)
        yield Caution("never plug or unplug a motor on a live driver; more with each step to do")

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def refresh_from_bin(self) -> None:
        from coilbench.driver.motor import known_motor
        from coilbench.quantity import format_quantity
        from coilbench.winding.engine.fitness import fitness

        self.query_one("#driver-steps-button").display = self.can_be_set
        saved = self.bin.fact(self.motor_name, "driver") or {}
        facts = self.bin.facts(self.motor_name)
        known = known_motor(facts)
        typed = (facts.get("connection") or {}).get("typed") or {}  # the driver at hand, as typed a stage ago
        chips = self.query_one("#driver-chip", Select)
        with self.prevent(Select.Changed):
            if named := saved.get("chip") or typed.get("driver"):
                chip = self._chip(named)
                chips.value = chip.chip if chip is not None else Select.NULL
            self._offer_steps(saved.get("microsteps"))
        self._offer_senses()
        current = saved.get("peak_ampere") or known.current_ampere
        chip = self._chosen()
        if current is not None and saved.get("microsteps") == 1 and chip is not None:
            current *= chip.full_step_ratio or 1.0
        for name, value, unit in (
            ("sense", saved.get("sense_ohm"), "ohm"),
            ("current", current, "ampere"),
            ("supply", saved.get("supply_volt"), "volt"),
        ):
            if value is not None:
                self.query_one(f"#driver-{name}", DriverField).value = format_quantity(value, unit, 4)
        if not saved:
            self.query_one("#driver-supply", DriverField).value = supply_text(typed.get("supply", ""))
        if saved or not fitness(facts.get("windings")).usable:
            self._work_out(keep=False)
        else:
            self.query_one("#driver-said", Static).update(CHOOSE_A_CHIP if chip is None else WORK_IT_OUT)

    @on(Select.Changed, "#driver-chip")
    def chip_chosen(self) -> None:
        self._offer_senses()
        self._offer_steps(None)
        if self.query_one("#driver-sense", DriverField).value or not self._senses():
            self._work_out()

    @on(Select.Changed, "#driver-steps")
    @on(Field.Submitted)
    def entered(self) -> None:
        self._work_out()

    @on(Button.Pressed)
    def clicked(self, event: Button.Pressed) -> None:
        event.stop()
        button = event.button.id or ""
        if button == "driver-steps-button":
            self.action_driver_steps()
            return
        if button.startswith("seen-"):
            self.query_one("#driver-sense", DriverField).value = str(event.button.label)
        if button.startswith("supply-"):
            self.query_one("#driver-supply", DriverField).value = str(event.button.label)
        self._work_out()

    def action_driver_steps(self) -> None:
        """What to do, as a text to read and copy."""
        from coilbench.driver.report import to_do
        from coilbench.winding.engine.fitness import fitness

        if self.situation is not None and self.judgement is not None:
            title = f"{self.motor_name}: setting the {self.situation.chip.chip}"
            faulty = fitness(self.bin.fact(self.motor_name, "windings")).says
            lines = [*([f"warning: {faulty}"] if faulty else []), *to_do(self.situation, self.judgement)[1]]
            self.app.push_screen(TextDialog(title, "\n".join(lines)))

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return self.can_be_set if action == "driver_steps" else True

    @property
    def can_be_set(self) -> bool:
        """Whether a setting is worked out and nothing says stop."""
        return self.judgement is not None and not self.judgement.stops

    def facts_lines(self) -> list[str]:
        from coilbench.driver.motor import known_motor
        from coilbench.driver.report import set_rows
        from coilbench.quantity import format_quantity
        from coilbench.ui.facts import fact

        lines = []
        if self.situation is not None and self.judgement is not None:
            rows = set_rows(self.situation, self.judgement)
            whole = ("VREF", "smallest")  # the others' remarks stand in the result too
            lines = [
                fact(name, text if name in whole else text.split("  (")[0])
                for name, text in rows
                if name not in ("chip", "formula")
            ]
            if self.judgement.stops:
                lines.insert(0, fact("stop", "not to be set like this"))
        known = known_motor(self.bin.facts(self.motor_name))
        if known.coil_ohm is not None:
            henry = known.inductance_henry
            more = "" if henry is None else f", {format_quantity(henry, 'henry')}"
            lines.append(fact("coil", format_quantity(known.coil_ohm, "ohm") + more))
        if known.basis:
            lines.append(fact("from", known.basis))
        return lines

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.quantity import format_quantity
        from coilbench.ui.facts import fact

        saved = bin.fact(motor_name, "driver")
        if not saved:
            return []
        at = "" if saved.get("vref_volt") is None else f", VREF {format_quantity(saved['vref_volt'], 'volt')}"
        return [fact("driver", f"{saved['chip']} {format_quantity(saved['peak_ampere'], 'ampere')} peak{at}")]

    def _chip(self, name: str) -> Chip | None:
        from coilbench.driver.catalogue import find

        try:
            return find(name, self._own)
        except CoilbenchError:
            return None

    def _chosen(self) -> Chip | None:
        name = self.query_one("#driver-chip", Select).value
        return self._chip(name) if isinstance(name, str) else None

    def _senses(self) -> tuple[float, ...]:
        chip = self._chosen()
        return chip.carrier_sense_ohm[:3] if chip is not None and chip.needs_sense else ()

    def _offer_senses(self) -> None:
        """Buttons with the markings seen on boards of this chip; which one it is, the person reads off theirs."""
        senses = self._senses()
        self.query_one("#driver-seen").display = bool(senses)
        for place in range(3):
            button = self.query_one(f"#seen-{place}", Button)
            button.display = place < len(senses)
            if button.display:
                button.label = marking(senses[place])

    def _offer_steps(self, chosen: int | None) -> None:
        chip = self._chosen()
        steps = self.query_one("#driver-steps", Select)
        finer = [each for each in (chip.microsteps if chip is not None else ()) if each > 1]
        with self.prevent(Select.Changed):
            steps.set_options([("full step", FULL_STEP), *((f"1/{each}", each) for each in finer)])
            if chosen is not None and (chosen == 1 or chosen in finer):
                steps.value = FULL_STEP if chosen == 1 else chosen

    def _work_out(self, *, keep: bool = True) -> None:
        """Judge what stands in the form, show it, and keep it with the motor."""
        from coilbench.driver.findings import judge
        from coilbench.driver.report import saved_fact

        said = self.query_one("#driver-said", Static)
        said.set_class(False, "-problem")
        said.update("")
        try:
            situation = self._situation()
            if situation is None:
                said.update(CHOOSE_A_CHIP)
                return
            judgement = judge(situation)
            if keep and not judgement.stops and not self.bin.read_only:
                self.bin.put_fact(self.motor_name, "driver", saved_fact(situation))
        except CoilbenchError as problem:
            said.set_class(True, "-problem")
            said.update(str(problem))
            return
        if judgement.stops:
            said.update("not kept with the motor: it says stop")
        self.situation, self.judgement = situation, judgement
        self._show(situation, judgement)
        self.facts_changed()

    def _situation(self) -> Situation | None:
        from coilbench.driver import reference_voltage as reference
        from coilbench.driver.finding import Situation
        from coilbench.driver.motor import known_motor
        from coilbench.errors import InputProblem
        from coilbench.quantity import parse_marking, parse_quantity
        from coilbench.winding.engine.fitness import check_usable

        check_usable(self.bin.fact(self.motor_name, "windings"))
        chip = self._chosen()
        if chip is None:
            return None
        typed = {
            name: self.query_one(f"#driver-{name}", DriverField).value.strip()
            for name in ("sense", "current", "supply", "measured")
        }
        known = known_motor(self.bin.facts(self.motor_name))
        sense = parse_marking(typed["sense"]) if typed["sense"] else None
        steps = self.query_one("#driver-steps", Select).value
        full = steps == FULL_STEP and isinstance(steps, int)
        if typed["measured"]:
            setting = reference.read_vref(chip, parse_quantity(typed["measured"], "volt"), sense)
        elif typed["current"]:
            current = parse_quantity(typed["current"], "ampere")
            setting = reference.set_peak(
                chip, reference.peak_for_full_step(chip, current) if full else current, sense
            )
        elif chip.formula == "FIXED_RS":
            setting = reference.fixed_setting(chip, sense)
        else:
            raise InputProblem("no current is known yet", remedy="rate the motor, or type one such as 0.8 A")
        return Situation(
            setting,
            parse_quantity(typed["supply"], "volt") if typed["supply"] else None,
            known.coil_ohm,
            known.inductance_henry,
            steps if isinstance(steps, int) and not full else None,
            full,
            connection=known.connection,
            half_winding=known.half_winding,
        )

    def _show(self, situation: Situation, judgement: Judgement) -> None:
        from coilbench.driver.report import finding_lines, headline, to_do

        self.query_one("#driver-set-to", Static).update(headline(situation, judgement))
        self.query_one("#driver-findings", Static).update("\n".join(finding_lines(judgement)))
        heading, lines = to_do(situation, judgement)
        self.query_one("#driver-to-do", Static).update("\n".join([heading, *lines]))
        self.query_one("#driver-steps-button").display = self.can_be_set
        self.query_one("#driver-result").scroll_home(animate=False)


def supply_text(typed: str) -> str:
    """A supply typed for the connection, with its unit; empty where it is none."""
    from coilbench.quantity import format_quantity, parse_quantity

    try:
        return format_quantity(parse_quantity(typed, "volt", bare=True), "volt", 4)
    except CoilbenchError:
        return ""


def marking(ohm: float) -> str:
    """A sense resistor as it is marked (IEC 60062): 0.1 ohm is R100, 1 ohm 1R00."""
    return f"R{round(ohm * 1000):03d}" if ohm < 1 else f"{ohm:.2f}".replace(".", "R")
