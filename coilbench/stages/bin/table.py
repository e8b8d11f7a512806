"""The bin as a table for a spreadsheet: a motor a row, figures as plain numbers, their unit in the column's name."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Collection
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.plain_text import cleaned
from coilbench.records.files import MARKED_BYTES, holds, write_whole
from coilbench.records.rows import MotorRecord
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import Figures, Jog
from coilbench.records.saved.notes import Notes
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.stages import motor

HEADERS = (
    *("motor", "kind", "faults", "leads", "from", "label", "face", "step_angle_deg", "ohms_half_winding"),
    *("start_rms_a", "best_rms_a", "inductance_h", "holding_nm", "connection", "peak_a", "chip", "vref_v"),
    *("supply_v", "microsteps", "start_steps_per_s", "run_steps_per_s", "notes", "photo", "archived"),
)
# What a spreadsheet takes for a formula when a cell begins with it, the wide forms of the same signs too: OWASP, CSV
# Injection. An apostrophe in front makes it a text.
_FORMULA = ("=", "+", "-", "@", "＝", "＋", "－", "＠")
# Where the semicolon parts cells, as in much of Europe, what follows one begins a cell.
_PARTED = re.compile(f"(;\\s*)(?=[{''.join(map(re.escape, _FORMULA))}])")
MARK = ",".join(HEADERS[:4])  # by which a table of ours is known

Cell = str | float | int | None


def table_rows(bin: Bin) -> list[tuple[Cell, ...]]:
    """A row a motor, oldest first, a cell a header; None for what isn't known."""
    known = bin.known_of_all()
    return [_row(record, known.get(record.name, Facts())) for record in bin.motors()]


def as_csv(rows: list[tuple[Cell, ...]]) -> str:
    """The table as CSV (RFC 4180 but for its line ends), in which no cell is taken for a formula."""
    written = io.StringIO()
    writer = csv.writer(written, lineterminator="\n")
    writer.writerow(HEADERS)
    writer.writerows([[_cell(each) for each in row] for row in rows])
    return written.getvalue()


def save_table(bin: Bin, path: Path, names: Collection[str] | None = None) -> int:
    """Write the table of all motors, or of these; return how many. Raises InputProblem for another's file, and for
    one that can't be written."""
    if path.is_dir() or (path.is_file() and not holds(path, MARK.encode(), MARKED_BYTES)):
        raise InputProblem(f"{path} is there already and no earlier table of ours", remedy="choose another name")
    rows = [row for row in table_rows(bin) if names is None or row[0] in names]
    write_whole(path, "\ufeff" + as_csv(rows))  # the mark by which a spreadsheet knows UTF-8
    return len(rows)


def _cell(value: Cell) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        return f"{value:.6g}" if isinstance(value, float) else str(value)
    text = cleaned(value)
    text = _PARTED.sub(r"\1'", text)
    return f"'{text}" if text.lstrip().startswith(_FORMULA) else text


def _row(record: MotorRecord, known: Facts) -> tuple[Cell, ...]:
    windings, intake = known.get(Windings), known.get(Intake) or Intake()
    ratings, connection = known.get(Ratings) or Ratings(), known.get(Connection)
    driver, jog, notes = known.get(Driver), known.get(Jog), known.get(Notes) or Notes()
    rates = jog.drives[0] if jog is not None and jog.drives else Figures()
    return (
        record.name,
        None if windings is None else windings.arrangement,
        None if windings is None else " ".join(dict.fromkeys(each.kind for each in windings.faults)),
        " ".join(record.leads),
        notes.origin,
        intake.label,
        intake.frame,
        motor.step_angle_degree(known),
        motor.half_winding_ohm(known),
        ratings.current_ampere,
        ratings.estimate_ampere,
        motor.half_winding_henry(known),
        ratings.holding_torque_newton_metre,
        None if connection is None else connection.connection,
        driver.peak_ampere if driver is not None else None if connection is None else connection.current_ampere,
        None if driver is None else driver.chip,
        None if driver is None else driver.vref_volt,
        None if driver is None else driver.supply_volt,
        None if driver is None else driver.microsteps,
        rates.start_rate_sps,
        rates.run_rate_sps,
        notes.text,
        notes.photo,
        "yes" if notes.archived else "",
    )
