"""A machine's sheet, or the labels of its motors, as one text of any form, and in a file."""

from __future__ import annotations

import json
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records.files import MARKED_BYTES, holds, write_whole
from coilbench.stages.card.html import labels_html
from coilbench.stages.card.state import BY_ENDING, MADE_BY, Form
from coilbench.stages.card.text import label_text
from coilbench.stages.machine.sheet import Sheet, as_json
from coilbench.stages.machine.sheet_html import sheet_html
from coilbench.stages.machine.sheet_text import sheet_markdown, sheet_text

_FILE_WIDTH = 80


def sheet_written(sheet: Sheet, form: Form, *, label: bool, ascii: bool, width: int) -> str:
    """The text; ``label`` for the labels in place of the sheet."""
    if form == "json":
        return json.dumps({"made_by": MADE_BY} | as_json(sheet), indent=1) + "\n"
    if label:
        if form == "html":
            return labels_html(sheet.labels)
        return "\n".join(label_text(each, ascii=ascii) for each in sheet.labels)
    if form == "html":
        return sheet_html(sheet)
    return sheet_markdown(sheet) if form == "markdown" else sheet_text(sheet, width, ascii=ascii)


def save_sheet(sheet: Sheet, path: Path, *, label: bool = False) -> None:
    """Write it, or its motors' labels, in the form that the file's ending tells. Raises InputProblem for another's
    file, and for one that can't be written."""
    if path.is_dir() or (path.is_file() and not holds(path, MADE_BY.encode(), MARKED_BYTES)):
        raise InputProblem(f"{path} is there already and no sheet of ours", remedy="choose another name")
    form = BY_ENDING.get(path.suffix.lower(), "text")
    if label and form not in ("html", "text"):
        raise InputProblem(f"{path}: labels are made as .html or .txt, expected one of those endings")
    write_whole(path, sheet_written(sheet, form, label=label, ascii=False, width=_FILE_WIDTH))
