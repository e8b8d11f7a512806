"""My bench: what is there, and the usual one of each kind, from which every motor starts."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal
from textual.widgets import DataTable, Static

from coilbench.errors import CoilbenchError
from coilbench.records.saved.own import Own
from coilbench.stages.at_bench import words
from coilbench.stages.bench import KINDS, Kind, OwnThings
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.dialogs.basic import ConfirmDialog
from coilbench.ui.dialogs.own_thing import OwnThingDialog
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.titlebar import KeyLabel, TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType

TITLES = ("", "kind", "name", "what it is")
USUAL, OTHER = "●", "○"
LONGEST_NAME = 20


class OwnTable(DataTable[Text]):
    """The things, one a row, each kind together; a kind of which none is told has a row that says so."""

    HELP_TITLE = "my bench"
    HELP = (
        "What you have, told once. ● marks the usual one of each kind: every motor starts from it, and so does every "
        "command that isn't told another. Enter makes the chosen one usual; what is known of a motor stays as it is. "
        "A driver and a supply come here by themselves with the first motor that they are set for."
    )


class OwnScreen(Steady[bool]):
    """The page; its answer is whether anything was changed."""

    CSS_PATH: ClassVar[list[str]] = ["own.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("own")

    def __init__(self) -> None:
        super().__init__()
        self._rows: list[tuple[Kind, Own | None]] = []
        self._changed = False

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield OwnTable(id="own-things", cursor_type="row")
        yield Static(f"{USUAL} the usual one: every motor starts from it", id="own-says", markup=False)
        with Horizontal(id="own-buttons"):
            yield KeyLabel("own.usual", classes="-first")
            yield KeyLabel("own.add")
            yield KeyLabel("own.change")
            yield KeyLabel("own.remove")
            yield KeyLabel("own.back")

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def things(self) -> OwnThings:
        return OwnThings(self.bench.bin)

    def on_mount(self) -> None:
        self.query_one(TitleBar).say("my bench")
        self.query_one(OwnTable).focus()
        self.show()

    def show(self, chosen: Own | None = None) -> None:
        """Show what there is, the cursor on the thing that is named, else where it was."""
        table = self.query_one(OwnTable)
        place = table.cursor_row
        things = self.things
        self._rows = []
        for kind in KINDS:
            there: list[Own | None] = [*things.of(kind)]
            self._rows += [(kind, thing) for thing in there or [None]]
        table.clear(columns=True)
        for title in TITLES:
            table.add_column(Text(title))
        for kind, thing in self._rows:
            if thing is None:
                table.add_row(Text(" "), Text(kind.label), Text("–"), Text("none told yet; a tells one"))
                continue
            name = Text("" if thing.name == words(thing) else thing.name)
            name.truncate(LONGEST_NAME, overflow="ellipsis")
            table.add_row(Text(USUAL if thing.usual else OTHER), Text(kind.label), name, Text(words(thing)))
        if chosen is not None:
            place = next(at for at, (_, each) in enumerate(self._rows) if each == chosen)
        table.move_cursor(row=min(place, len(self._rows) - 1))
        self.refresh_bindings()

    @property
    def chosen(self) -> tuple[Kind, Own | None]:
        """The kind under the cursor, and the thing, None where none is told."""
        return self._rows[self.query_one(OwnTable).cursor_row]

    @on(DataTable.RowHighlighted)
    def another_row(self) -> None:
        self.refresh_bindings()

    @on(DataTable.RowSelected)
    def action_own_usual(self) -> None:
        kind, thing = self.chosen
        if thing is None:
            self.action_own_add()
            return
        try:
            kept = self.things.make_usual(kind, thing.name)
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
            return
        self._changed = True
        self.show(kept)
        self.bench.tell(f"every motor starts from {kept.name} now")

    def action_own_add(self) -> None:
        self.ask(OwnThingDialog(self.things, self.chosen[0]), self._told)

    def action_own_change(self) -> None:
        kind, thing = self.chosen
        if thing is not None:
            self.ask(OwnThingDialog(self.things, kind, thing), self._told)

    def _told(self, thing: Own | None) -> None:
        if thing is not None:
            self._changed = True
            self.show(thing)

    def action_own_remove(self) -> None:
        kind, thing = self.chosen
        if thing is None:
            return

        def answered(yes: bool | None) -> None:
            if yes:
                try:
                    self.things.remove(kind, thing.name)
                except CoilbenchError as problem:
                    self.bench.show_problem(problem)
                self._changed = True
                self.show()

        text = f"{thing.name}: {words(thing)}. Motors that were set with it keep what they have."
        self.ask(ConfirmDialog(f"take this {kind.id} off the bench?", text, "take it off"), answered)

    def action_own_back(self) -> None:
        self.dismiss(self._changed)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action in ("own_change", "own_remove") and self._rows:
            return self.chosen[1] is not None
        return True
