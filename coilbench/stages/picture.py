"""The wiring drawing of a motor, for any room."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.winding.readings.reading import Reading

if TYPE_CHECKING:
    from coilbench.winding.engine.verdict import Verdict
    from coilbench.winding.order.types import OrderVerdict


@dataclass(frozen=True, slots=True)
class Wiring:
    """What is drawn: the windings, and the phase order where it is known."""

    verdict: Verdict
    order: OrderVerdict | None = None
    readings: Sequence[Reading] = ()

    def text(self, width: int, height: int = 0, *, ascii: bool = False) -> str:
        """The drawing in so many columns, with its list of leads where the lines have room for that."""
        from coilbench.winding.drawing.model import draw
        from coilbench.winding.drawing.text import render_text

        drawing = draw(self.verdict, self.order, self.readings)
        whole = render_text(drawing, ascii=ascii, width=width) if height else ""
        if height and whole.count("\n") < height:
            return whole
        return render_text(drawing, ascii=ascii, width=width, legend=False)
