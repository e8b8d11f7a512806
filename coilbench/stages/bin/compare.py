"""Two motors side by side: what is known of either, and where they differ."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.quantity import format_quantity
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.notes import Notes
from coilbench.records.saved.ratings import Ratings
from coilbench.records.store import Bin
from coilbench.stages import motor
from coilbench.stages.overview import overview

SAME = 0.05  # relative: two meters, or one on two days, read so far apart (common practice)


@dataclass(frozen=True, slots=True)
class Compared:
    """A thing of both, empty where it isn't known. ``differs`` only where both are known."""

    what: str
    one: str
    other: str
    differs: bool = False


def compared(bin: Bin, one: str, other: str) -> list[Compared]:
    """The two, thing by thing; what is known of neither is left out. Raises InputProblem."""
    first, second = _told(bin, one), _told(bin, other)
    rows = []
    for what, (text, figure) in first.items():
        text_too, figure_too = second[what]
        if not (text or text_too):
            continue
        if figure is not None and figure_too is not None:
            differs = abs(figure - figure_too) > SAME * max(figure, figure_too)
        else:
            differs = bool(text and text_too) and text != text_too
        rows.append(Compared(what, text, text_too, differs))
    return rows


def as_text(rows: list[Compared], one: str, other: str, width: int, *, differs: str = "≠") -> str:
    """The rows as lines of at most ``width`` columns; long texts go on below."""
    label = max((len(row.what) for row in rows), default=0)
    room = max((width - label - 6) // 2, 8)
    lines = _lines("", one, other, label, room, "  ")
    for row in rows:
        lines += _lines(
            row.what, row.one or "–", row.other or "–", label, room, f"{differs} " if row.differs else "  "
        )
    return "\n".join([*lines, "", f"{differs} where they differ (figures by more than {SAME:.0%})"])


def _lines(what: str, one: str, other: str, label: int, room: int, sign: str) -> list[str]:
    left, right = _broken(one, room), _broken(other, room)
    height = max(len(left), len(right))
    return [
        f"{(what if at == 0 else ''):<{label}}  {_at(left, at):<{room}}  "
        f"{sign if at == 0 else '  '}{_at(right, at)}".rstrip()
        for at in range(height)
    ]


def _at(parts: list[str], at: int) -> str:
    return parts[at] if at < len(parts) else ""


def _broken(text: str, room: int) -> list[str]:
    from textwrap import wrap

    return wrap(text, room) or [""]


def _told(bin: Bin, name: str) -> dict[str, tuple[str, float | None]]:
    record, known = bin.motor(name), bin.known(name)
    line = overview(bin, record)
    intake, ratings = known.get(Intake) or Intake(), known.get(Ratings) or Ratings()
    connection, driver, notes = known.get(Connection), known.get(Driver), known.get(Notes) or Notes()
    return {
        "verdict": (line.verdict, None),
        "leads": (" ".join(record.leads), None),
        "windings": (line.found, None),
        "ohms": _figure(motor.half_winding_ohm(known), "ohm"),
        "current": _figure(ratings.current_ampere, "ampere"),
        "inductance": _figure(motor.half_winding_henry(known), "henry"),
        "torque": _figure(ratings.holding_torque_newton_metre, "newton_metre"),
        "step angle": _step(known),
        "face": (intake.frame or "", None),
        "connection": ("" if connection is None else connection.connection, None),
        "chip": ("" if driver is None else driver.chip or "", None),
        "VREF": _figure(None if driver is None else driver.vref_volt, "volt"),
        "rates": (line.rates, None),
        "from": (notes.origin, None),
        "label": (intake.label or "", None),
        "photo": (notes.photo, None),
        "note": (notes.text, None),
    }


def _figure(value: float | None, unit: str) -> tuple[str, float | None]:
    return ("", None) if value is None else (format_quantity(value, unit, 3), value)


def _step(known: Facts) -> tuple[str, float | None]:
    angle = motor.step_angle_degree(known)
    return ("", None) if angle is None else (f"{angle:g}°", angle)
