"""What the commands print: one JSON object, or plain tables; notes go to standard error."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from typing import Any

from coilbench.errors import as_started
from coilbench.plain_text import columns, inert, is_plain


def print_json(value: Any) -> None:
    """One JSON object on standard output. Infinite numbers are the caller's to replace: JSON has none."""
    print(json_line(value))


def json_line(value: Any) -> str:
    """A value as JSON on one line; what drives a terminal stands in it as an escape of JSON's own."""
    text = json.dumps(value, ensure_ascii=False, allow_nan=False)
    return "".join(each if is_plain(each) else json.dumps(each)[1:-1] for each in text)


def print_table(headers: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Columns as wide as their content, two spaces apart."""
    for line in columns([headers, *rows]):
        print(line)


def note(text: str) -> None:
    """A line for the person, beside the output proper."""
    print(inert(as_started(text)), file=sys.stderr)
