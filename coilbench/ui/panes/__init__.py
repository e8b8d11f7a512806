"""The stages of a bench sheet, in the order of the bench: one table.

To add a stage called ``ratings``:

1. Write ``ui/stages/ratings.py`` with a class ``RatingsPane(StagePane)`` (see ``base.py``): ``compose`` its widgets,
   read what is known in ``refresh_from_bin``, say it in ``facts_lines`` and in the classmethod ``summary_lines``.
   After saving with ``self.bin.put_fact(self.motor_name, "ratings", {...})`` call ``self.facts_changed()``; what it
   looks like stands in ``records/saved_shapes.py``.
   Import numpy and the knowledge rooms inside methods or thread workers, never at the top.
2. Add a ``StageSpec`` row below. ``fact`` is the stage's name in the bin: its done mark shows once that is saved.
3. Its keys go into ``ui/actions.py`` with ``where="ratings"``; the pane takes them with
   ``BINDINGS = bindings_for("ratings")`` and answers in ``action_ratings_<verb>``.
4. Its styles go into ``ui/stages/ratings.tcss``, named in ``StageSpec.styles``; all selectors start with the class.
5. A caution stands in the pane where the act is: yield ``Caution("...")``. Give every field a ``HELP`` text for F1
   and a text from people or boards only to ``Static(..., markup=False)`` or a ``Content``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from coilbench.ui.panes.base import StagePane


@dataclass(frozen=True)
class StageSpec:
    """One stage: ``factory`` is ``module:Class``, imported when the stage is first shown."""

    id: str
    title: str
    factory: str
    fact: str
    styles: str | None = None
    says: str = ""  # one line, shown where the stage is named

    def pane_class(self) -> type[StagePane]:
        """Import and return the stage's pane."""
        module_name, _, class_name = self.factory.partition(":")
        pane: type[StagePane] = getattr(import_module(module_name), class_name)
        return pane


# The arrangements whose leads have an order that only the shaft, or a kick of the meter, can tell.
ORDERED = ("unipolar-5", "unipolar-6", "split-8")

STAGES: tuple[StageSpec, ...] = (
    StageSpec(
        "intake",
        "intake",
        "coilbench.ui.panes.intake:IntakePane",
        "intake",
        says="name, frame, leads, label",
    ),
    StageSpec(
        "windings",
        "windings",
        "coilbench.ui.panes.windings:WindingsPane",
        "windings",
        styles="windings.tcss",
        says="which lead belongs to which coil",
    ),
    StageSpec(
        "order",
        "order",
        "coilbench.ui.panes.order.pane:OrderPane",
        "order",
        styles="order/order.tcss",
        says="in which order the coils turn the shaft",
    ),
    StageSpec(
        "ratings",
        "ratings",
        "coilbench.ui.panes.ratings.pane:RatingsPane",
        "ratings",
        styles="ratings/ratings.tcss",
        says="what current it can take",
    ),
    StageSpec(
        "connection",
        "connection",
        "coilbench.ui.panes.connection:ConnectionPane",
        "connection",
        styles="connection.tcss",
        says="how to connect it to the driver",
    ),
    StageSpec(
        "driver",
        "driver",
        "coilbench.ui.panes.driver:DriverPane",
        "driver",
        styles="driver.tcss",
        says="what to set the driver to, and whether it can work",
    ),
    StageSpec(
        "jog",
        "jog",
        "coilbench.ui.panes.jog.pane:JogPane",
        "jog",
        styles="jog/jog.tcss",
        says="how fast it starts and runs without skipping",
    ),
)


def idle_stages(facts: Mapping[str, Mapping[str, Any]]) -> set[str]:
    """The stages in which there is nothing to do for a motor of which this is saved.

    Order: two plain coils turn whichever way they are connected; a motor that can't be used is not put in order.
    Driver: a motor that was jogged by coil lines alone has none to set.
    """
    idle = set()
    if windings := facts.get("windings"):
        from coilbench.winding.engine.fitness import fitness
        from coilbench.winding.engine.verdict import NAMED_FROM

        named = float(windings.get("confidence") or 0) >= NAMED_FROM
        in_order = named and windings.get("arrangement") not in ORDERED
        if in_order or not fitness(windings).usable:
            idle.add("order")
    if jog := facts.get("jog"):
        drives = [each.get("drive") or {} for each in (jog, *(jog.get("others") or []))]
        if all(drive.get("kind", "driver") != "driver" for drive in drives):
            idle.add("driver")
    return idle


def next_stage(facts: Mapping[str, Mapping[str, Any]]) -> StageSpec | None:
    """The stage to go on with: the first one not done, windings at the earliest; None when all are."""
    idle = {"intake", *idle_stages(facts)}
    return next((spec for spec in STAGES if spec.id not in idle and spec.fact not in facts), None)


def stage(stage_id: str) -> StageSpec:
    """Look a stage up by its id. Raises KeyError."""
    return next(spec for spec in STAGES if spec.id == stage_id)
