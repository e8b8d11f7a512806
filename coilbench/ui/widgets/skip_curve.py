"""The chance to skip against the figure tried; the plotting library is loaded when it is first drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from textual.app import App
from textual.containers import Container

if TYPE_CHECKING:
    from coilbench.stages.jog.scene import Curve, Told
    from coilbench.ui.widgets.skip_plot import SkipPlot


class SkipCurve(Container):
    """Empty until a search is shown."""

    DEFAULT_CSS = "SkipCurve { height: 12; width: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.plot: SkipPlot | None = None

    async def draw(self, curve: Curve, told: Told) -> None:
        """Draw the fitted curve and the trials as marks at top and bottom; while the fit is rough only the band in
        which the curve may lie, lest a guess be taken for measured."""
        if self.plot is None:
            from coilbench.ui.widgets.skip_plot import SkipPlot

            self.plot = SkipPlot()
            await self.mount(self.plot)
        plot = self.plot
        from textual_plot import HiResMode

        plot.clear()
        line, marks = plain_colour(self.app, "primary"), plain_colour(self.app, "foreground")
        low, high = curve.figures[0], curve.figures[-1]
        plot.set_xlimits(low, high)
        plot.set_ylimits(-8, 108)
        plot.set_yticks([0, 50, 100])
        plot.set_xticks(round_ticks(low, high))
        plot.set_xlabel(f"% lost against {curve.unit}")
        for shares in (curve.low, curve.high) if curve.rough else (curve.mean,):
            plot.plot(curve.figures, [100 * share for share in shares], line, HiResMode.BRAILLE)
        for skipped, marker in ((False, "✓"), (True, "✗")):
            tried = [figure for figure, each in told if each is skipped and low <= figure <= high]
            if tried:
                plot.scatter(tried, [100.0 * skipped] * len(tried), marker, marks)


def plain_colour(app: App[Any], name: str) -> str:
    """A colour of the theme as a plot takes it."""
    colour = app.theme_variables.get(name, "")
    return colour if colour.startswith("#") else colour.removeprefix("ansi_") or "default"


_LABEL_SHARE = 0.08  # half a label's width, of the axis


def round_ticks(low: float, high: float) -> list[float]:
    """Two to four round figures between the ends; none so near to the right one that its digits would be cut off."""
    high -= _LABEL_SHARE * (high - low)
    for step in (factor * 10**power for power in range(6) for factor in (1, 2, 5)):
        first = -(-low // step) * step
        count = int((high - first) // step) + 1
        if 2 <= count <= 4:
            return [first + step * place for place in range(count)]
    return [low, high]
