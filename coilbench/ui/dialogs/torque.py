"""Torque against rpm of one motor on the supplies at hand, drawn and in words."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import work
from textual.app import ComposeResult
from textual.widgets import Static

from coilbench.stages.torque_plot import TorquePlot, table_of
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.steady import Steady
from coilbench.ui.widgets.foot import Foot
from coilbench.ui.widgets.titlebar import TitleBar
from coilbench.ui.widgets.torque_chart import ASKED, WANTED, TorqueChart

if TYPE_CHECKING:
    from textual.binding import BindingType

CAUTION = "the most there is at a steady speed: plan with half of it; starting without a ramp holds far less"


class TorqueScreen(Steady[None]):
    """The chart; a digit's line is chosen by the next key, and its band is drawn."""

    CSS_PATH: ClassVar[list[str]] = ["torque.tcss"]  # type: ignore[assignment]
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("torque")

    def __init__(self, plot: TorquePlot) -> None:
        super().__init__()
        self.plot = plot
        self.shown = plot.first

    def compose(self) -> ComposeResult:
        yield TitleBar()
        yield Static("", id="torque-says", markup=False)
        yield TorqueChart(id="torque-chart")
        yield Static("", id="torque-table", markup=False)
        yield Static("", id="torque-notes", markup=False)
        yield Foot()

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    def on_mount(self) -> None:
        self.query_one(TitleBar).say(f"torque at speed   {self.plot.title}")
        self.query_one("#torque-table").display = False
        rows = table_of(self.plot)
        widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
        text = "\n".join(
            "  ".join(f"{cell:>{width}}" for cell, width in zip(row, widths, strict=True)) for row in rows
        )
        self.query_one("#torque-table", Static).update(text)
        self.show()

    def show(self) -> None:
        """Say and draw the line that is chosen."""
        lines = [f"{place + 1} {line.name}" for place, line in enumerate(self.plot.lines)]
        demand = "" if self.plot.demand is None else f"   {ASKED} asked   {WANTED} with the margin"
        self.query_one("#torque-says", Static).update(
            "\n".join([*self.plot.says(self.shown), "   ".join(lines) + demand])
        )
        self.query_one("#torque-notes", Static).update("\n".join([*self.plot.notes, CAUTION]))
        self.draw()

    @work(exclusive=True, exit_on_error=False)
    async def draw(self) -> None:
        await self.query_one(TorqueChart).draw(self.plot, self.shown)

    def action_torque_other(self) -> None:
        self.shown = (self.shown + 1) % len(self.plot.lines)
        self.show()

    def action_torque_table(self) -> None:
        table, chart = self.query_one("#torque-table"), self.query_one("#torque-chart")
        table.display, chart.display = chart.display, table.display

    def action_torque_back(self) -> None:
        self.dismiss(None)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        return len(self.plot.lines) > 1 if action == "torque_other" else True
