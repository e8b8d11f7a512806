"""The wiring drawing as the sheet shows it."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.ui.widgets.stage_area import Picture
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.order.types import OrderVerdict
from coilbench.winding.readings.reading import Reading


def picture_of(
    verdict: Verdict, order: OrderVerdict | None = None, readings: Sequence[Reading] = (), *, ascii: bool = False
) -> Picture:
    """A drawing for any room: the list of leads is left out where it would not fit."""
    from coilbench.winding.drawing import draw, render_text

    drawing = draw(verdict, order, readings)

    def picture(width: int, height: int) -> str:
        whole = render_text(drawing, ascii=ascii, width=width)
        if whole.count("\n") < height:
            return whole
        return render_text(drawing, ascii=ascii, width=width, legend=False)

    return picture
