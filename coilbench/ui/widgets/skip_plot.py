"""The plotting library's widget, made to fit a corner of the bench; imported when a plot is first drawn."""

from __future__ import annotations

from textual import on
from textual.reactive import reactive
from textual_hires_canvas import Canvas
from textual_plot import PlotWidget


class SkipPlot(PlotWidget, can_focus=False):  # its keys are not the bench's
    """Narrow margins from the first, and drawn anew whenever a part of it gets another size."""

    margin_top = reactive(0)
    margin_left = reactive(5)
    margin_bottom = reactive(3)

    def __init__(self) -> None:
        super().__init__(allow_pan_and_zoom=False)

    @on(Canvas.Resize)
    def fit(self) -> None:
        """The library looks at its parts' sizes when it is laid out, and they have theirs only after that."""
        self.refresh(layout=True)
