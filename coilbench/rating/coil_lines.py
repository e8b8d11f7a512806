"""Which lead goes on which of four coil lines, and what to mind where nothing limits the current but the winding."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from coilbench.rating.connections import Connection
from coilbench.rating.wiring import Phase, wires

Switch = Literal["array", "bridge"]

LINE_NAMES = ("A", "B", "A'", "B'")
# The collector current of one output (TI: ULN2003A data sheet SLRS027M, absolute maximum ratings: 500 mA).
ARRAY_LINE_AMPERE = 0.5

_ORDER_FIRST = "the order of the ends isn't known: find it in the order stage first; a wrong one only rocks the shaft"
_SORT_FIRST = "sort the windings first: the leads have no names yet"
_TURNS_EITHER_WAY = "which way it turns isn't known: that only sets the direction"


@dataclass(frozen=True, slots=True)
class CoilLines:
    """``leads`` on the lines A, B, A', B' (empty while not known), those on ``supply`` plus, what else to ``join``.

    ``doubt`` says what isn't known yet.
    """

    leads: tuple[str, ...] = ()
    supply: tuple[str, ...] = ()
    joins: tuple[str, ...] = ()
    doubt: str = ""


def coil_lines(
    switch: Switch,
    need_order: bool,
    phases: tuple[Phase, ...],
    sequence: Sequence[str] = (),
    connection: str | None = None,
) -> CoilLines:
    """The leads on a transistor array or a dual H-bridge.

    ``phases`` as far as they are known; ``need_order``: they are known only with the order. ``sequence``: the ends in
    their switching order, ``connection``: the one chosen.
    """
    if not phases:
        return CoilLines(doubt=_ORDER_FIRST if need_order else _SORT_FIRST)
    return _on_array(phases, sequence) if switch == "array" else _on_bridge(phases, connection)


def _on_array(phases: tuple[Phase, ...], sequence: Sequence[str]) -> CoilLines:
    if any(phase.second is None for phase in phases):
        return CoilLines(doubt="two plain coils can't run from a transistor array: take the dual H-bridge")
    supply = dict.fromkeys(
        lead for phase in phases if phase.second for lead in (phase.first.finish, phase.second.start)
    )
    if len(sequence) == 4:
        return CoilLines(tuple(sequence), tuple(supply))
    starts = [phase.first.start for phase in phases]
    finishes = [phase.second.finish for phase in phases if phase.second]
    return CoilLines((*starts, *finishes), tuple(supply), doubt=_TURNS_EITHER_WAY)


def _on_bridge(phases: tuple[Phase, ...], chosen: str | None) -> CoilLines:
    commons = [phase.first.finish for phase in phases if phase.tapped]
    if len(set(commons)) < len(commons):
        return CoilLines(doubt="five leads share one common: they can't run from a bridge, take the transistor array")
    connection: Connection = "bipolar"
    if any(phase.second is not None for phase in phases):
        connection = chosen if chosen in ("half-coil", "series", "parallel") else "half-coil"  # type: ignore[assignment]
    laid = wires(connection, phases)
    at = {wire.where: " + ".join(wire.leads) for wire in laid}
    places = ("A+", "B+", "A-", "B-")
    joins = tuple(str(wire) for wire in laid if wire.where not in places)
    return CoilLines(tuple(at[place] for place in places), joins=joins, doubt=_TURNS_EITHER_WAY)


def coil_cautions(switch: Switch, ampere: float | None, ohm: float | None) -> tuple[str, ...]:
    """What to mind on four coil lines. ``ampere`` and ``ohm`` are the rated current and resistance of one winding as
    connected, where known."""
    limit = "the motor's rated volts"
    if ampere and ohm:
        limit = f"{ampere * ohm:.2g} V (its rated {ampere:.2g} A)"
    lines = [f"nothing limits the current: at most {limit}, or a resistor for each coil"]
    if switch == "array":
        much = ""
        if ampere and ampere > ARRAY_LINE_AMPERE:
            much = f"; {ampere:.2g} A is too much for it: a lower supply, or stronger transistors"
        lines.append(f"a transistor array carries about {ARRAY_LINE_AMPERE:g} A a line{much}")
        lines.append("array's common pin to supply +, or a coil's kick kills it")
    else:
        lines.append("no more current than the bridge carries; its freewheel diodes built in, or fitted")
    lines.append("motor and switches get hot: trials short, with rests")
    return tuple(lines)
