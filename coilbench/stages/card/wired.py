"""How a motor is wired: its drawing, and where each of its leads goes."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.plain_text import shortened
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Windings
from coilbench.stages import motor
from coilbench.stages.card.state import LeadLine
from coilbench.stages.fitness import fitness_of
from coilbench.stages.picture import HookedUp, Picture, Wiring


def picture_of(known: Facts, leads: Sequence[str], connection: str = "") -> tuple[Picture | None, str]:
    """The motor wired as this ``connection``, without one as it is kept, else its windings; with the words for it."""
    from coilbench.stages.order.saved import verdict_of, windings_verdict

    windings, order, kept = known.get(Windings), known.get(Order), known.get(Connection)
    connection = connection or ("" if kept is None else kept.connection)
    usable = fitness_of(known).usable
    if usable and (joined := motor.hooked_up(known, connection)) is not None:
        return joined, f"connected: {connection}"
    if windings is None:
        return None, "no drawing yet"
    by_tests = None if order is None or not order.done else verdict_of(order)
    why = f"{connection}: phases not known yet" if connection else "no connection is chosen yet"
    picture = Wiring(windings_verdict(windings, tuple(leads)), by_tests)
    return picture, f"the windings; {why if usable else 'not to be connected'}"


def lead_lines(known: Facts, leads: Sequence[str], joined: HookedUp | None) -> tuple[LeadLine, ...]:
    """Every lead's place, and its terminal as it is ``joined``; those that go to the driver first."""
    from coilbench.stages.order.saved import windings_verdict
    from coilbench.winding.readings.leads import lead_colour
    from coilbench.winding.report import lead_table

    windings = known.get(Windings)
    places = {}
    if windings is not None:
        rows = lead_table(windings_verdict(windings, tuple(leads)))
        places = {row.lead: " ".join(filter(None, (row.coil, row.role))) for row in rows}
    goes = {} if joined is None else _goes(joined)
    lines = []
    for lead in leads:
        colour = lead_colour(lead)
        place = places.get(lead, "").replace("unknown", "")
        word = (colour.word or "") if colour else ""
        word = "" if word.casefold() == lead.casefold() else word
        lines.append(LeadLine(lead, word, place, goes.get(lead, "")))
    return tuple(sorted(lines, key=_by_terminal))


def _by_terminal(line: LeadLine) -> tuple[int, str, str]:
    first = {"supply": 1, "join": 2, "insulate": 3, "": 4}
    return first.get(line.goes.split(" ")[0], 0), line.goes if line.goes else line.place.split(" ")[0], line.place


def _goes(joined: HookedUp) -> dict[str, str]:
    """Where each lead goes, in words."""
    from coilbench.rating.wiring import UNUSED

    goes = {}
    for wire in joined.wires:
        for lead in wire.leads:
            others = [each for each in wire.leads if each != lead]
            if wire.where == UNUSED:
                goes[lead] = "insulate"
            elif wire.where == "join":
                goes[lead] = f"join {' + '.join(shortened(each, 16) for each in others)}"
            else:
                goes[lead] = wire.where.replace("-", "−")
    return goes
