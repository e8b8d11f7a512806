"""The connection stage: all ways to connect the motor side by side, and which suits the driver at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.content import Content
from textual.widgets import Button, Input, OptionList, Static
from textual.widgets.option_list import Option

from coilbench.errors import CoilbenchError
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.panes.base import Caution
from coilbench.ui.panes.old import OldPane
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.driver.chip import Chip
    from coilbench.rating.connections import Choice, Connection, ConnectionRow, Drive
    from coilbench.rating.wiring import Phase
    from coilbench.records.store import Bin

FIELDS = (
    (
        "driver",
        "driver",
        "A4988",
        "ampere",
        "Your driver's chip, or the most current it carries, as its peak: 1.5 A.",
    ),
    ("supply", "supply", "24 V", "volt", "The motor supply: it sets how fast the motor can go."),
    ("speed", "wanted", "300 rpm", "hertz", "The speed the shaft has to reach, if you know it."),
)


class ConnectionInput(Field):
    """A field about the driver at hand."""

    def __init__(self, field_id: str, label: str, hint: str, unit: str, says: str) -> None:
        super().__init__(id=f"connection-{field_id}", compact=True, placeholder=f"e.g. {hint}")
        self.field_id, self.unit, self.label_text = field_id, unit, label
        self.help_title = label
        self.help_text = f"{says} May stay empty."


class ConnectionList(OptionList):
    """The connections; Enter takes the chosen one."""

    HELP_TITLE = "connections"
    HELP = (
        "Every way this motor can be connected, at the same heat. Currents are per winding with two phases on, which "
        "is also the RMS value when microstepping; a sine of the same heat peaks at 1.41 times that. T is torque "
        "against one half-winding; rpm is where the supply runs out."
    )


class ConnectionPane(OldPane):
    """A few fields about the driver, the list, and the wiring of the chosen row."""

    WORDS = (
        "Half-coil: from the centre tap to one end, the other half left unused. Series: end to end, the tap unused. "
        "RMS: the steady current that heats as much. Sine peak: the highest moment of the current when "
        "microstepping. 1.00 T: the torque of one half-winding. H: inductance, how slowly the current rises; - where "
        "it isn't known."
    )

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("connection")

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.drive: Drive = "bipolar"
        self.choice: Choice | None = None
        self.phases: tuple[Phase, ...] = ()

    def compose(self) -> ComposeResult:
        with VerticalScroll(can_focus=False):
            for field_id, label, hint, unit, says in FIELDS:
                with Horizontal(classes="connection-row"):
                    yield Static(label, classes="connection-label", markup=False)
                    yield ConnectionInput(field_id, label, hint, unit, says)
            yield Button("", id="drive", compact=True)
            yield ConnectionList(id="connections", compact=True)
            yield Static("", id="connection-said", markup=False)
            yield Static("", id="connection-why", markup=False)
            yield Static("", id="connection-wires", markup=False)
        yield Button("take this one (Enter)", id="take", variant="primary", compact=True)
        yield Caution("supply off before you join or part leads")

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def picked(self) -> ConnectionRow | None:
        """The row chosen in the list."""
        place = self.query_one(ConnectionList).highlighted
        return self.choice.rows[place] if self.choice is not None and place is not None else None

    def focus_first(self) -> None:
        self.query_one(ConnectionList).focus(scroll_visible=False)

    def refresh_from_bin(self) -> None:
        saved = self.bin.fact(self.motor_name, "connection") or {}
        typed = saved.get("typed") or {}
        chip = (self.bin.fact(self.motor_name, "driver") or {}).get("chip")
        if chip and known_chip(chip) is not None:
            typed = {"driver": chip, **typed}
        for each in self.query(ConnectionInput):
            each.value = str(typed.get(each.field_id, ""))
        if typed.get("drive") in ("bipolar", "unipolar"):
            self.drive = typed["drive"]
        elif len(self.bin.motor(self.motor_name).leads) == 5:
            self.drive = "unipolar"  # five leads have no other way
        self._compare(saved.get("connection"))

    def _typed(self, field: ConnectionInput) -> float | None:
        from coilbench.quantity import parse_quantity

        text = field.value.strip()
        if not text:
            return None
        if field.field_id == "driver":
            return driver_peak_ampere(text)
        if field.field_id == "speed" and text.replace(".", "", 1).isdecimal():
            text += " rpm"
        return parse_quantity(text, field.unit, bare=True)

    def _compare(self, prefer: Connection | None = None) -> None:
        """Work the rows out anew; ``prefer`` stays chosen where it is among them."""
        self.choice = None
        said = self.query_one("#connection-said", Static)
        said.remove_class("-problem")
        said.update("")
        try:
            self.choice, self.phases = self._worked()
        except CoilbenchError as problem:
            said.update(str(problem))
            said.add_class("-problem")
        self.query_one("#drive", Button).label = f"driver: {self.drive} (F6)"
        self._fill(prefer)
        self._show_picked()

    def _worked(self) -> tuple[Choice, tuple[Phase, ...]]:
        from coilbench.errors import NotEnoughKnown
        from coilbench.rating.connections import Bench, compare_connections
        from coilbench.rating.rate import half_winding_ohm, motor_leads
        from coilbench.rating.wiring import phases_known
        from coilbench.winding.engine.fitness import check_usable

        windings = self.bin.fact(self.motor_name, "windings")
        only = check_usable(windings).only
        ratings = self.bin.fact(self.motor_name, "ratings") or {}
        leads = motor_leads(windings)
        if windings is not None and leads is None:
            raise NotEnoughKnown("only two-phase motors with 4, 5, 6 or 8 leads are connected here")
        ohm = ratings.get("resistance_ohm") or half_winding_ohm(windings)
        ampere = ratings.get("current_ampere")
        if leads is None or ohm is None:
            raise NotEnoughKnown("sort the windings first")
        if ampere is None:
            raise NotEnoughKnown("rate the motor first: its current is not known yet (F2)")
        typed = {each.field_id: self._typed(each) for each in self.query(ConnectionInput)}
        bench = Bench(self.drive, typed["driver"], typed["supply"], typed["speed"])
        angle = ratings.get("step_angle_degree") or 1.8
        choice = compare_connections(leads, ohm, ampere, ratings.get("inductance_henry"), bench, 360 / angle, only)
        return choice, phases_known(windings, self.bin.fact(self.motor_name, "order"))

    def _fill(self, prefer: Connection | None) -> None:
        listing = self.query_one(ConnectionList)
        listing.clear_options()
        if self.choice is None:
            return
        wide = self.size.width >= 56
        for row in self.choice.rows:
            listing.add_option(Option(Content(row_text(row, chosen=row.connection == self.choice.choose, wide=wide))))
        names = [row.connection for row in self.choice.rows]
        listing.highlighted = names.index(prefer if prefer in names else self.choice.choose)

    def on_resize(self) -> None:
        picked = self.picked
        self._fill(picked.connection if picked else None)

    @on(OptionList.OptionHighlighted)
    def moved(self, event: OptionList.OptionHighlighted) -> None:
        event.stop()
        self._show_picked()

    def _show_picked(self) -> None:
        from coilbench.rating.wiring import deciding_test, idle_leads, wires

        choice, row = self.choice, self.picked
        why = self.query_one("#connection-why", Static)
        wiring = self.query_one("#connection-wires", Static)
        self.query_one("#take").display = row is not None
        if choice is None or row is None:
            why.update("")
            wiring.update("")
            self.facts_changed()
            return
        notes = "\n".join(f"- {note}" for note in choice.notes)
        why.update(f"advised: {choice.choose}: {choice.why}\n{notes}".rstrip())
        if self.phases:
            idle = idle_leads(self.bin.fact(self.motor_name, "windings"))
            wiring.update("\n".join(str(wire) for wire in wires(row.connection, self.phases, idle)))
        else:
            leads = len(self.bin.motor(self.motor_name).leads)
            wiring.update(deciding_test(leads) or "the windings aren't sorted far enough to name leads")
        self.facts_changed(self._picture(row))

    def _picture(self, row: ConnectionRow) -> Any:
        from coilbench.rating.wiring import draw_connection

        if not self.phases:
            return None
        phases, ascii = self.phases, self.bench.plain_characters

        def picture(width: int, height: int) -> str:
            lines = draw_connection(row.connection, phases, ascii=ascii, width=width)
            return "\n".join(part for line in lines for part in folded(line, width))

        return picture

    @on(Input.Changed)
    def changed(self, event: Input.Changed) -> None:
        event.stop()
        if event.input.id == "connection-driver" and (chip := known_chip(event.value)) is not None:
            self.drive = "unipolar" if chip.motor == "unipolar" else "bipolar"
        self._compare()

    @on(Button.Pressed, "#drive")
    def action_connection_drive(self) -> None:
        self.drive = "unipolar" if self.drive == "bipolar" else "bipolar"
        self._compare()

    @on(OptionList.OptionSelected)
    @on(Input.Submitted)
    @on(Button.Pressed, "#take")
    def action_connection_take(self) -> None:
        choice, row = self.choice, self.picked
        if choice is None or row is None:
            return
        from coilbench.rating.wiring import connection_fact, idle_leads

        idle = idle_leads(self.bin.fact(self.motor_name, "windings"))
        typed = {each.field_id: each.value.strip() for each in self.query(ConnectionInput) if each.value.strip()}
        fact = connection_fact(row, self.phases, idle) | {"typed": {**typed, "drive": self.drive}}
        try:
            self.bin.put_fact(self.motor_name, "connection", fact)
        except CoilbenchError as error:
            self.bench.show_problem(error)
            return
        self.query_one("#connection-said", Static).update(f"{row.connection} kept; F3 goes on to the driver")
        self.facts_changed()

    def facts_lines(self) -> list[str]:
        from coilbench.quantity import format_quantity
        from coilbench.ui.facts import fact

        row = self.picked
        if row is None:
            return self.summary_lines(self.bin, self.motor_name)
        lines = [
            fact("picked", f"{row.connection}: {row.says}"),
            fact("RMS", f"{format_quantity(row.ampere, 'ampere')} a winding, two phases on"),
            fact("sine peak", f"{format_quantity(row.equal_heat_peak_ampere, 'ampere')} for the same heat"),
            fact("winding", f"{format_quantity(row.ohm, 'ohm')}, {format_quantity(row.volt, 'volt')}"),
            fact("heat", f"{format_quantity(row.watt, 'watt')}, both phases"),
        ]
        if row.connection != "bipolar":
            lines.append(fact("torque", f"{row.torque_relative:.2f} of one half-winding"))
        if row.henry is not None:
            lines.insert(4, fact("henry", format_quantity(row.henry, "henry")))
        if row.speed_limit_rev_per_second is not None:
            lines.append(fact("supply", f"runs out at {60 * row.speed_limit_rev_per_second:.0f} rpm"))
        if row.usable_ampere < row.ampere:
            lines.append(fact("driver", f"leaves {format_quantity(row.usable_ampere, 'ampere')}"))
        return lines

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.quantity import format_quantity
        from coilbench.ui.facts import fact

        saved = bin.fact(motor_name, "connection")
        if not saved:
            return []
        return [
            fact("connect", f"{saved['connection']}, {format_quantity(saved['current_ampere'], 'ampere')} a winding")
        ]


def driver_peak_ampere(text: str) -> float | None:
    """The most a driver carries, from its chip's name or given itself; None where unknown. Raises InputProblem."""
    from coilbench.quantity import QuantityError, parse_quantity

    if text[0].isalpha():
        return chip_called(text).most_peak_ampere
    try:
        return parse_quantity(text, "ampere", bare=True)
    except QuantityError:
        wanted = "expected its chip such as A4988, or the most it carries such as 1.5 A"
        raise QuantityError(f"{text!r} is no driver, {wanted}") from None


def chip_called(name: str) -> Chip:
    """A driver chip of the table or of the person's own rows. Raises InputProblem with the nearest names."""
    from coilbench.driver.catalogue import find
    from coilbench.records.own_chips import own_chips

    return find(name, own_chips())


def known_chip(name: str) -> Chip | None:
    """That chip, None where it isn't known: one set up by its gain alone has no row."""
    try:
        return chip_called(name)
    except CoilbenchError:
        return None


def row_text(row: ConnectionRow, *, chosen: bool, wide: bool) -> str:
    """A row of the list: one line where there is room, else two."""
    from coilbench.quantity import format_quantity

    mark = "*" if chosen else " "
    amp = format_quantity(row.ampere, "ampere", 2)
    ohm = format_quantity(row.ohm, "ohm", 2)
    limit = row.speed_limit_rev_per_second
    known = [
        ohm,
        None if row.henry is None else format_quantity(row.henry, "henry", 2),
        format_quantity(row.watt, "watt", 2),
        None if limit is None else f"{60 * limit:.0f} rpm",
    ]
    # Torque is counted against one half-winding: whole windings have nothing to be counted against.
    torque = "" if row.connection == "bipolar" else f" {row.torque_relative:4.2f} T"
    head = f"{mark} {row.connection:<9} {amp:>7}{torque}"
    rest = "  ".join(each for each in known if each)
    return f"{head}   {rest}" if wide else f"{head}\n  {rest}"


def folded(line: str, width: int) -> list[str]:
    """A drawing's line in pieces of the panel's width, broken between its words."""
    import textwrap

    return [line] if len(line) <= width else textwrap.wrap(line, max(width, 20), subsequent_indent="     ") or [""]
