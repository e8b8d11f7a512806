"""The motor as far as it is known, to be drawn at a stage that has no drawing of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Windings
from coilbench.stages.desk import Desk
from coilbench.stages.motor import hooked_up

if TYPE_CHECKING:
    from coilbench.stages.picture import Picture


def drawn(desk: Desk) -> Picture | None:
    """As its connection wires it, else its windings and their order; None while they aren't sorted."""
    from coilbench.stages.order.saved import verdict_of, windings_verdict
    from coilbench.stages.picture import Wiring

    known = desk.known
    windings, order = known.get(Windings), known.get(Order)
    if windings is None:
        return None
    wired = hooked_up(known)
    return wired or Wiring(windings_verdict(windings, desk.leads), None if order is None else verdict_of(order))
