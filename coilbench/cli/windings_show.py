"""The windings printed for reading: sentence, drawing, lead table, warnings, what comes next."""

from __future__ import annotations

import shutil

from coilbench.cli.dialogue import say
from coilbench.cli.output import print_table
from coilbench.stages.picture import Wiring
from coilbench.stages.windings.words import Page


def page_width() -> int:
    """Columns to fill: the terminal's, between 34 and 100."""
    return min(max(shutil.get_terminal_size((76, 24)).columns, 34), 100)


def print_wiring(wiring: Wiring, *, ascii_only: bool) -> None:
    """The wiring drawing as known so far."""
    print(wiring.text(page_width(), ascii=ascii_only), flush=True)


def print_page(page: Page, *, ascii_only: bool) -> None:
    """All there is to say of a motor."""
    for line in page.opening:
        say(line, ascii_only=ascii_only)
    say()
    print_wiring(page.wiring, ascii_only=ascii_only)
    say()
    rows = page.rows
    if ascii_only:
        rows = tuple(tuple(cell.encode("ascii", "backslashreplace").decode("ascii") for cell in row) for row in rows)
    print_table(page.headers, rows)
    if page.about_ohms:
        say(page.about_ohms)
    say()
    for sentence in page.closing:
        say(sentence, ascii_only=ascii_only)
