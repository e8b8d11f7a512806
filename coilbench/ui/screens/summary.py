"""A finished motor: all that one needs to wire and set it, on one screen."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.containers import Horizontal, VerticalScroll
from textual.message import Message
from textual.widgets import Static

from coilbench.errors import CoilbenchError
from coilbench.stages.card.card import card_of
from coilbench.stages.card.state import Card
from coilbench.stages.desk import Desk
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.drawing import drawing
from coilbench.ui.faults import own_fault
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.titlebar import TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType


class SummaryScreen(Steady[None]):
    """What to set in the first lines, the drawing to wire from, where each lead goes, the rates."""

    CSS_PATH: ClassVar[list[str]] = ["summary.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("summary")

    class Known(Message):
        """The card is worked out."""

        def __init__(self, card: Card) -> None:
            super().__init__()
            self.card = card

    class Failed(Message):
        """It can't be."""

        def __init__(self, problem: CoilbenchError) -> None:
            super().__init__()
            self.problem = problem

    def __init__(self, motor: str) -> None:
        super().__init__()
        self.motor = motor
        self.card: Card | None = None

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield Static("", id="summary-warning", markup=False)
        yield Static("", id="summary-set", markup=False)
        with VerticalScroll(id="summary"):
            yield Static("", id="summary-rates", markup=False)
            with Horizontal(id="summary-wiring"):
                yield Static("", id="summary-drawing", markup=False)
                yield Static("", id="summary-leads", markup=False)
            yield Static("", id="summary-cautions", markup=False)
        yield Foot()

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def on_mount(self) -> None:
        self.query_one(TitleBar).say(f"{self.motor}   all done")
        self.query_one("#summary").focus()
        self.work_out()

    @work(thread=True, exit_on_error=False)
    def work_out(self) -> None:
        """The card, in a thread: it reckons the setting anew."""
        try:
            self.post_message(self.Known(card_of(Desk(self.bench.bin, self.motor), date.today())))
        except CoilbenchError as problem:
            self.post_message(self.Failed(problem))
        except Exception as fault:
            self.post_message(self.Failed(own_fault(fault)))

    def on_summary_screen_failed(self, event: Failed) -> None:
        self.bench.show_problem(event.problem)

    def on_summary_screen_known(self, event: Known) -> None:
        self.card = event.card
        self.show()

    def on_resize(self) -> None:
        self.call_after_refresh(self.show)

    def show(self) -> None:
        """Write the card, and draw into the room there is."""
        card = self.card
        if card is None or not self.query("#summary-leads"):
            return
        self._put("warning", "\n".join(f"! {each}" for each in card.warnings))
        self._put("set", "\n".join(card.label.figures))
        rates = next((part for part in card.sections if part.title == "working rates"), None)
        entries = () if rates is None else [each for each in rates.entries if each.known]
        self._put("rates", "\n".join(f"{each.name:<9} {each.text}" for each in entries))
        leads = [(each.lead, each.colour, each.goes or each.place) for each in card.leads]
        widths = [max((len(row[column]) for row in leads), default=0) for column in range(2)]
        lines = [f"{lead:<{widths[0]}}  {colour:<{widths[1]}}  {goes}" for lead, colour, goes in leads]
        self._put("leads", "\n".join(lines))
        room = self.query_one("#summary").scrollable_content_region.width
        beside = max(map(len, lines), default=0) + 3
        drawn = self.query_one("#summary-drawing", Static)
        stacked = room - beside < 40
        self.query_one("#summary-wiring").styles.layout = "vertical" if stacked else "horizontal"
        width = room if stacked else room - beside
        plain = self.bench.plain_characters
        drawn.update("" if card.picture is None else drawing(card.picture, width, 40, ascii=plain, listed=False))
        self._put("cautions", "\n".join(f"caution: {each}" for each in card.cautions[:1]))

    def _put(self, name: str, text: str) -> None:
        line = self.query_one(f"#summary-{name}", Static)
        line.display = bool(text)
        line.update(text)

    def action_summary_open(self) -> None:
        from coilbench.ui.screens.sheet import BenchSheet

        self.app.switch_screen(BenchSheet(self.motor))

    def action_summary_back(self) -> None:
        self.dismiss(None)
