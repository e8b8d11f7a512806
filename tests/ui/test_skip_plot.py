"""The plot is drawn to the size that its parts have, however late they get it."""

from __future__ import annotations

from textual_hires_canvas import Canvas

from coilbench.ui.widgets.skip_plot import SkipPlot


async def test_parts_that_change_size_after_the_layout_are_drawn_anew(demo_bench, settle) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        plot = SkipPlot()
        await app.screen.mount(plot)
        plot.plot([0.0, 1.0], [0.0, 1.0])
        await settle(pilot)
        for margin in (9, 5):
            plot.margin_left = margin
            await settle(pilot)
            assert all(each._canvas_size == each.size for each in plot.query(Canvas) if each.size)
        frame = plot.query_one("#plot", Canvas).size
        assert plot._scale_rectangle.size == (frame.width - 2, frame.height - 2)
