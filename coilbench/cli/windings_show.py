"""A verdict printed for reading: sentence, drawing, lead table, warnings, what comes next."""

from __future__ import annotations

import shutil
from collections.abc import Iterable, Sequence

from coilbench.cli.output import inert, print_table
from coilbench.winding.drawing.model import draw
from coilbench.winding.drawing.text import render_text
from coilbench.winding.engine import report
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.order.types import OrderVerdict
from coilbench.winding.readings.reading import Reading


def page_width() -> int:
    """Columns to fill: the terminal's, between 34 and 100."""
    return min(max(shutil.get_terminal_size((76, 24)).columns, 34), 100)


def say(text: str = "", *, ascii_only: bool = False) -> None:
    """One line for the person, typed text inert in it, out at once."""
    shown = inert(text)
    if ascii_only:
        shown = shown.replace("±", "+/-").replace("Ω", "ohm").encode("ascii", "backslashreplace").decode("ascii")
    print(shown, flush=True)


def show_drawing(
    verdict: Verdict,
    order: OrderVerdict | None = None,
    readings: Sequence[Reading] = (),
    *,
    ascii_only: bool,
) -> None:
    """The wiring drawing as known so far."""
    drawing = draw(verdict, order, readings)
    print(render_text(drawing, ascii=ascii_only, width=page_width(), legend=False), flush=True)


def show_verdict(
    verdict: Verdict,
    order: OrderVerdict | None = None,
    readings: Sequence[Reading] = (),
    *,
    ascii_only: bool,
) -> None:
    """All there is to say of a motor."""
    for warning in report.warnings(verdict):
        say(f"! {warning}", ascii_only=ascii_only)
    say(report.what_it_is(verdict), ascii_only=ascii_only)
    say()
    show_drawing(verdict, order, readings, ascii_only=ascii_only)
    say()
    rows = [row.cells(ascii=ascii_only) for row in report.lead_table(verdict)]
    if ascii_only:
        rows = [tuple(cell.encode("ascii", "backslashreplace").decode("ascii") for cell in row) for row in rows]
    print_table(report.LEAD_TABLE_HEADERS, rows)
    if probes := report.probes_sentence(verdict):
        say(probes)
    say()
    sentences: Iterable[str] = [
        *report.cannot_tell_sentences(verdict, order),
        *(report.drive_sentences(order) if order is not None else ()),
        *report.next_steps(verdict, order),
    ]
    for sentence in sentences:
        say(sentence, ascii_only=ascii_only)
