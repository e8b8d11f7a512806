"""Without colour nothing breaks, the jog stage's plot included."""

from __future__ import annotations

from rich.segment import Segment
from textual.color import Color
from textual.filter import Monochrome
from textual.widgets import Static
from textual_plot import PlotWidget

from coilbench.ui.colourless import Colourless, without_gaps


def test_a_segment_without_a_style_is_let_through() -> None:
    assert [segment.text for segment in Colourless().apply([Segment("")], Color(0, 0, 0))] == [""]


def test_it_stands_for_the_filter_of_the_library() -> None:
    assert [type(each) for each in without_gaps([Monochrome()])] == [Colourless]


async def test_a_plot_is_drawn(demo_bench, settle, monkeypatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        plot = PlotWidget()
        await app.screen.mount(Static("plot"), plot)
        await settle(pilot)
        plot.plot([0.0, 1.0], [0.0, 1.0])
        await settle(pilot)
        assert plot.is_attached
