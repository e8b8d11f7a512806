"""Every road from step and direction to a motor's windings: a list, and what the chosen one needs."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from coilbench.cautions import LIVE_DRIVER
from coilbench.plain_text import columns
from coilbench.stages.connection.roads import CLAMP_HEADS, HEADS, NARROW_HEADS, RoadsAnswer
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.titlebar import TitleBar

if TYPE_CHECKING:
    from textual.binding import BindingType

_WIDE = 112


class RoadsList(OptionList):
    """The roads; what the chosen one needs stands below."""

    HELP_TITLE = "every road"
    HELP = (
        "Up and down choose a road: below is what it needs and what to beware of. Torque counts against one "
        "half-winding as rated. To take one, go back and choose its connection and the driver's kind."
    )


class RoadsScreen(Steady[None]):
    """The roads of one motor; there is nothing to keep."""

    CSS_PATH: ClassVar[list[str]] = ["roads.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("roads")

    def __init__(self, motor: str, answer: RoadsAnswer) -> None:
        super().__init__()
        self.motor, self.answer = motor, answer

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield Static("", id="roads-heads", markup=False)
        yield RoadsList(id="roads-list", compact=True)
        with VerticalScroll(id="roads-more"):
            yield Static("", id="roads-says", markup=False)
            yield Static("", id="roads-clamps", markup=False)
            yield Static("\n".join(f"- {each}" for each in self.answer.notes), id="roads-notes", markup=False)
        yield Static(f"caution: {LIVE_DRIVER}", id="roads-caution", markup=False)
        yield Foot()

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def on_mount(self) -> None:
        self.query_one(TitleBar).say(f"every road   {self.motor} {self.answer.judged_at}")
        self._fill()
        self.query_one(RoadsList).focus()

    def on_resize(self) -> None:
        self._fill()

    def _fill(self) -> None:
        heads = HEADS if self.size.width >= _WIDE else NARROW_HEADS
        places = [HEADS.index(each) for each in heads]
        shown = [each.partition(":")[0] if heads is NARROW_HEADS else each for each in heads]
        first, *rows = columns([shown, *([each.cells[place] for place in places] for each in self.answer.rows)])
        self.query_one("#roads-heads", Static).update(first)
        listing = self.query_one(RoadsList)
        chosen = listing.highlighted or 0
        listing.clear_options()
        listing.add_options(Option(Content(row)) for row in rows)
        listing.highlighted = chosen

    @on(OptionList.OptionHighlighted)
    def chose_another(self, event: OptionList.OptionHighlighted) -> None:
        """Tell of the chosen road; the clamps go with the switches that need one."""
        chosen = self.answer.rows[event.option_index]
        says, *others = chosen.told
        self.query_one("#roads-says", Static).update("\n".join((says, chosen.flow, *others)))
        clamps = columns([CLAMP_HEADS[:3], *(each.cells[:3] for each in self.answer.clamps)])
        clamped = self.query_one("#roads-clamps", Static)
        clamped.update("\n".join((*clamps, self.answer.gives_back)))
        clamped.display = chosen.road.drive == "unipolar"

    def action_roads_back(self) -> None:
        self.dismiss(None)
