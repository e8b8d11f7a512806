"""Torque against rpm, a line a supply, each with its digit; the plotting library is loaded when it is first drawn."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.containers import Container

from coilbench.ui.widgets.skip_curve import plain_colour, round_ticks

if TYPE_CHECKING:
    from coilbench.stages.torque_plot import Demand, TorqueLine, TorquePlot
    from coilbench.ui.widgets.skip_plot import SkipPlot

ASKED, WANTED = "◆", "◇"
_DIGITS_ALONG = (0.3, 0.6, 0.85)  # of a line's rpm
_TOP = 1.06
_MOST_OVER = 4.0  # times the torque that is there, what is asked is still drawn


class TorqueChart(Container):
    """Empty until a plot is shown."""

    DEFAULT_CSS = "TorqueChart { height: 1fr; width: 1fr; }"

    def __init__(self, *, id: str | None = None) -> None:
        super().__init__(id=id)
        self.plot: SkipPlot | None = None

    async def draw(self, told: TorquePlot, chosen: int) -> None:
        """Draw every line, the band of the chosen one, and what is asked: no line is told by its colour alone."""
        if self.plot is None:
            from coilbench.ui.widgets.skip_plot import SkipPlot

            self.plot = SkipPlot()
            await self.mount(self.plot)
        plot = self.plot
        from textual_plot import HiResMode

        plot.clear()
        strong, quiet, faint = (plain_colour(self.app, name) for name in ("primary", "foreground", "text-muted"))
        line = told.lines[chosen]
        fastest = max(each.rpm[-1] for each in told.lines)
        most = max(line.high[0], *(each.torque[0] for each in told.lines))
        asked = _asked(told.demand, _MOST_OVER * most)
        if told.demand is not None:
            fastest = max(fastest, 1.1 * told.demand.rpm)
        most = max([most, *asked.values()])
        scale, unit = (1e3, "mN·m") if most < 1 else (1.0, "N·m")
        plot.set_xlimits(0, fastest)
        plot.set_ylimits(0, _TOP * most * scale)
        plot.set_xticks(round_ticks(0, fastest))
        plot.set_yticks(round_ticks(0, _TOP * most * scale))
        plot.set_xlabel(f"{unit} against rpm")
        for edge in (line.low, line.high):
            plot.scatter(line.rpm, [scale * each for each in edge], "·", faint)
        for place, each in enumerate(told.lines):
            colour = strong if place == chosen else quiet
            plot.plot(each.rpm, [scale * torque for torque in each.torque], colour, HiResMode.BRAILLE)
            plot.scatter(*_along(each, scale), f"{place + 1}", colour)
        for marker, torque in asked.items():
            assert told.demand is not None
            plot.scatter([told.demand.rpm], [scale * torque], marker, strong)


def _asked(demand: Demand | None, most: float) -> dict[str, float]:
    """Torque by its marker; what is beyond ``most`` is told in words alone, or the lines would lie on the floor."""
    if demand is None:
        return {}
    marked = {ASKED: demand.newton_metre, WANTED: demand.margin * demand.newton_metre}
    return {marker: torque for marker, torque in marked.items() if torque <= most}


def _along(line: TorqueLine, scale: float) -> tuple[list[float], list[float]]:
    """Where a line's digit stands."""
    places = [round(share * (len(line.rpm) - 1)) for share in _DIGITS_ALONG]
    return [line.rpm[place] for place in places], [scale * line.torque[place] for place in places]
