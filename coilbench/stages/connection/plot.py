"""The torque at speed of a motor as one connection has it, on the supplies at hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coilbench.records.saved.own import OwnBench
from coilbench.stages.connection.pulls import driven
from coilbench.stages.torque_plot import TorquePlot, line_of, taken_as_usual, volts_at_hand

if TYPE_CHECKING:
    from coilbench.rating.choice import Bench
    from coilbench.rating.connections import ConnectionRow
    from coilbench.stages.connection.pulls import Half


def torque_of_connection(
    name: str, row: ConnectionRow, bench: Bench, winding: Half, guessed: Sequence[str], own: OwnBench
) -> TorquePlot:
    """The motor ``name`` connected as in ``row``; the supply typed counts first, then those at the bench. ``guessed``
    is what of the ``winding`` is taken as usual."""
    typed = bench.supply_volt
    supplies = volts_at_hand(own, *([] if typed is None else [(f"{typed:g} V", typed)]))
    lines = [
        line_of(named, volt, *driven(row, winding, replace(bench, supply_volt=volt))) for named, volt in supplies
    ]
    return TorquePlot(
        title=f"{name} {row.connection}",
        lines=tuple(lines),
        first=0 if typed is None else [volt for _, volt in supplies].index(typed),
        notes=taken_as_usual(guessed),
    )
