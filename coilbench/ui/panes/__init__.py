"""How the stages are drawn: a form, or a pane of a stage's own, named here."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from coilbench.stages.desk import Desk
from coilbench.stages.table import StageRow

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


def pane_class(row: StageRow) -> Any:
    """The class that draws a stage, imported when it is first shown."""
    module_name, _, class_name = _OWN.get(row.id, _FORM).partition(":")
    return getattr(import_module(module_name), class_name)


def pane_of(row: StageRow, desk: Desk) -> Any:
    """A fresh pane for a motor's stage."""
    found = pane_class(row)
    if row.id in OLD:
        pane = found(desk.motor, desk.bin)
        pane.stage.id = row.id
        return pane
    return found(row.stage_class()(desk))


# Those whose work has not moved to the stages' room yet.
OLD = {"ratings"}
