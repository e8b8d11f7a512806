"""How the stages are drawn: a form, or a pane of a stage's own, named here."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coilbench.stages.desk import Desk
    from coilbench.stages.table import StageRow
    from coilbench.ui.panes.base import StagePane

_FORM = "coilbench.ui.panes.form:FormPane"
_OWN = {
    "windings": "coilbench.ui.panes.windings:WindingsPane",
    "order": "coilbench.ui.panes.order.pane:OrderPane",
    "ratings": "coilbench.ui.panes.ratings.pane:RatingsPane",
    "connection": "coilbench.ui.panes.connection:ConnectionPane",
    "driver": "coilbench.ui.panes.driver:DriverPane",
    "jog": "coilbench.ui.panes.jog.pane:JogPane",
}
STYLES = (
    "windings.tcss",
    "order/order.tcss",
    "ratings/ratings.tcss",
    "connection.tcss",
    "driver.tcss",
    "jog/jog.tcss",
)


def pane_class(row: StageRow) -> type[StagePane[Any]]:
    """The class that draws a stage, imported when it is first shown."""
    module_name, _, class_name = _OWN.get(row.id, _FORM).partition(":")
    found: type[StagePane[Any]] = getattr(import_module(module_name), class_name)
    return found


def pane_of(row: StageRow, desk: Desk) -> StagePane[Any]:
    """A fresh pane for a motor's stage."""
    return pane_class(row)(row.stage_class()(desk))
