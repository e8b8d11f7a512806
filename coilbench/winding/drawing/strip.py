"""The wiring drawing laid out: one row a lead, its coil beside it, and where it goes. Text and SVG draw these rows.

A+ ■──  RD  ●───╮
                ⊃ A  24.2 Ω
        WH  ●───┤
                ⊃    24.1 Ω
A− ■──  BU  ●───╯
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby
from typing import Literal

from coilbench.winding.drawing.figures import ohms
from coilbench.winding.drawing.model import DrawnCoil, DrawnLead, WiringDrawing

Winding = Literal["", "turns", "dead", "shorted"]
Node = Literal["", "top", "tee", "bottom", "through", "straight", "loose"]
Back = Literal["", "start", "side", "end"]
Bracket = Literal["", "top", "side", "bottom"]

APART = "apart"  # where a lead goes that is left open and insulated


@dataclass(frozen=True, slots=True)
class Hookup:
    """Where each lead goes: ``goes`` names a terminal (``A+``, a pin, ``+`` of a cell) or ``APART``; each of
    ``joins`` are leads to be joined to each other."""

    goes: Mapping[str, str] = field(default_factory=dict)
    joins: Sequence[Sequence[str]] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the drawing, from left to right: where the lead goes, the lead with its terminal, what lies between
    the terminal and the upright wire (``run``), how it meets it (``node``), and what is said of it.

    A row without a terminal is a winding of the upright wire (``winding``), or room between phases. ``lead`` is None
    for a terminal whose lead isn't found yet. ``back`` is the way back of a ring, ``bracket`` joins leads.
    """

    lead: DrawnLead | None = None
    terminal: bool = False
    to: str = ""
    bracket: Bracket = ""
    run: Winding = ""
    node: Node = ""
    winding: Winding = ""
    back: Back = ""
    name: str = ""
    remark: str = ""
    fault: bool = False


@dataclass(frozen=True, slots=True)
class Strip:
    """The whole drawing: its rows, the sentences below, and whether a rotor belongs beside two phases."""

    rows: tuple[Row, ...]
    sentences: tuple[str, ...]
    rotor: bool


def lay_out(drawing: WiringDrawing, hookup: Hookup | None = None) -> Strip:
    """The rows of a drawing, with where its leads go."""
    hookup = hookup or Hookup()
    leads = {lead.name: lead for lead in drawing.leads}
    shaped = {"star": _star, "ring": _ring, "inside": _inside}.get(drawing.shape, _coils)
    rows = list(shaped(drawing, leads))
    for coil in drawing.measured:
        rows += _apart(rows)
        rows += _coil(coil, leads, [f"{ohms(coil.ohm, None)} measured"])
    loose = [_loose(lead) for lead in drawing.loose]
    rows += _apart(rows) + loose if loose else []
    connected = tuple(_connected(rows, hookup))
    return Strip(connected, _sentences(drawing), drawing.shape == "coils" and len(drawing.coils) in (2, 4))


def compact(strip: Strip) -> Strip:
    """The same in fewer rows, for where there is little height: windings lie beside the terminals they begin at, and
    phases follow each other without a gap."""
    rows: list[Row] = []
    waiting: Row | None = None  # a second half, drawn beside the end below it
    for row in strip.rows:
        if row.winding and not row.back and rows and rows[-1].terminal:
            above = rows[-1]
            if above.node == "tee":
                waiting = row
            else:
                rows[-1] = replace(above, run=row.winding, name=row.name, remark=row.remark, fault=row.fault)
        elif waiting is not None and row.terminal:
            rows.append(replace(row, run=waiting.winding, remark=waiting.remark, fault=waiting.fault))
            waiting = None
        elif row != Row():
            rows.append(row)
    return replace(strip, rows=tuple(rows), rotor=False)


def roomy(strip: Strip) -> Strip:
    """The same with a row more between two of a phase, for where there is much height."""
    rows: list[Row] = []
    for row in strip.rows:
        if rows and Row() not in (rows[-1], row):
            rows.append(_between(rows[-1]))
        rows.append(row)
    return replace(strip, rows=tuple(rows))


def _between(above: Row) -> Row:
    """What runs on below a row."""
    return Row(
        node="straight" if above.winding or above.node in ("top", "tee") else "",
        bracket="side" if above.bracket in ("top", "side") else "",
        back="side" if above.back in ("start", "side") else "",
    )


def _apart(rows: Sequence[Row]) -> list[Row]:
    return [Row()] if rows else []


def _winding(dead: bool, shorted: bool) -> Winding:
    return "dead" if dead else "shorted" if shorted else "turns"


def _remarks(coil: DrawnCoil) -> list[str]:
    """What is said beside each winding of a coil."""
    figure = ""
    if coil.ohm is not None and coil.ohm != float("inf"):
        figure = ohms(coil.ohm, coil.ohm_sd)
    if not coil.alive and not coil.dead:
        figure = f"{figure}, not measured yet" if figure else "not measured yet"
    if not coil.tapped:
        return [_with_fault(figure, coil.dead, coil.shorted)]
    ends = "end to end" if figure and "Ω" in figure else ""
    return [
        _with_fault(figure, coil.dead_first, coil.shorted_first),
        _with_fault(ends, coil.dead_second, coil.shorted_second),
    ]


def _with_fault(figure: str, dead: bool, shorted: bool) -> str:
    fault = "open" if dead else "shorted turns?" if shorted else ""
    return ", ".join(each for each in (fault, figure) if each)


def _terminal(lead: str | None, leads: Mapping[str, DrawnLead], node: Node, run: Winding = "", **more: str) -> Row:
    return Row(lead=leads.get(lead) if lead is not None else None, terminal=True, node=node, run=run, **more)  # type: ignore[arg-type]


def _coil(coil: DrawnCoil, leads: Mapping[str, DrawnLead], remarks: Sequence[str]) -> list[Row]:
    """A coil drawn upright: end, winding, (tap, winding,) end."""
    name = coil.name if not coil.phase or coil.name.startswith(coil.phase) else f"{coil.name} (phase {coil.phase})"
    halves = [(coil.dead_first, coil.shorted_first), (coil.dead_second, coil.shorted_second)]
    if not coil.tapped:
        halves = [(coil.dead, coil.shorted)]
    each = zip(halves, remarks, strict=True)
    windings = [Row(winding=_winding(*half), remark=remark, fault=any(half)) for half, remark in each]
    windings[0] = replace(windings[0], name=name)
    rows = [_terminal(coil.first, leads, "top"), windings[0]]
    if coil.tapped:
        rows += [_terminal(coil.tap, leads, "tee"), windings[1]]
    return [*rows, _terminal(coil.second, leads, "bottom")]


def _coils(drawing: WiringDrawing, leads: Mapping[str, DrawnLead]) -> Iterator[Row]:
    """Coil below coil; the halves of a phase close together."""
    by_phase = sorted(drawing.coils, key=lambda coil: coil.phase or "")
    for index, (_, halves) in enumerate(groupby(by_phase, key=lambda coil: coil.phase or coil.name)):
        if index:
            yield Row()
        for coil in halves:
            yield from _coil(coil, leads, _remarks(coil))


def _star(drawing: WiringDrawing, leads: Mapping[str, DrawnLead]) -> Iterator[Row]:
    """Every coil lies between its own end and the upright wire, which the common lead meets last."""
    for index, coil in enumerate(drawing.coils):
        yield replace(
            _terminal(coil.first, leads, "top" if index == 0 else "tee", _winding(coil.dead, coil.shorted)),
            name=coil.name,
            remark=_remarks(coil)[0],
            fault=coil.dead or coil.shorted,
        )
    yield _terminal(drawing.common, leads, "bottom", remark="common")


def _ring(drawing: WiringDrawing, leads: Mapping[str, DrawnLead]) -> Iterator[Row]:
    for index, coil in enumerate(drawing.coils):
        yield replace(
            _terminal(coil.first, leads, "top" if index == 0 else "tee"), back="start" if index == 0 else "side"
        )
        yield Row(
            winding=_winding(coil.dead, coil.shorted),
            back="side",
            name=coil.name,
            remark=_remarks(coil)[0],
            fault=coil.dead or coil.shorted,
        )
    yield Row(node="bottom", back="end")


def _inside(drawing: WiringDrawing, leads: Mapping[str, DrawnLead]) -> Iterator[Row]:
    """Leads that end in something that lists no coils."""
    members = [lead.name for lead in drawing.leads if lead.state == "placed"]
    remarks = [f"{drawing.inside} inside"]
    if drawing.inside_ohm is not None:
        remarks.append(f"{ohms(drawing.inside_ohm, None)} between two")
    for index, name in enumerate(members):
        node: Node = "top" if index == 0 else "bottom" if index == len(members) - 1 else "tee"
        yield _terminal(name, leads, node, remark=remarks[index] if index < len(remarks) else "")


def _loose(lead: DrawnLead) -> Row:
    words = {"unknown": "?", "spare": "spare", "broken": "broken off", "dead": "dead: open to all"}[lead.state]
    return Row(lead=lead, terminal=True, node="loose", remark=words, fault=lead.state in ("broken", "dead"))


def _connected(rows: Sequence[Row], hookup: Hookup) -> Iterator[Row]:
    """The rows with where their leads go; leads to be joined get a bracket where they stand one below the other."""
    at = {row.lead.name: index for index, row in enumerate(rows) if row.lead is not None}
    brackets: dict[int, Bracket] = {}
    said: dict[int, str] = {}
    for join in hookup.joins:
        places = sorted(at[lead] for lead in join if lead in at)
        if len(places) < 2:
            continue
        between = range(places[0], places[-1] + 1)
        if any(rows[index].terminal and index not in places for index in between) or brackets.keys() & set(between):
            names = " + ".join(join)
            said |= dict.fromkeys(places, f"join {names}")
            continue
        brackets |= dict.fromkeys(between, "side")
        brackets[places[0]], brackets[places[-1]] = "top", "bottom"
    for index, row in enumerate(rows):
        name = row.lead.name if row.lead is not None else ""
        yield replace(row, to=said.get(index) or hookup.goes.get(name, ""), bracket=brackets.get(index, ""))


def _sentences(drawing: WiringDrawing) -> tuple[str, ...]:
    lines = []
    on_frame = [lead.name for lead in drawing.leads if lead.on_frame]
    if on_frame:
        lines.append(f"! {', '.join(on_frame)} to the case: do not power it")
    lines += [f"{join.text} {_and(join.leads)}" for join in drawing.joins]
    if drawing.sequence:
        steps = "  ".join(f"{index}:{lead}" for index, lead in enumerate(drawing.sequence, 1))
        lines.append(f"clockwise: {steps}")
    return tuple(lines)


def _and(names: Sequence[str]) -> str:
    return " and ".join([*([", ".join(names[:-1])] if len(names) > 1 else []), *names[-1:]])
