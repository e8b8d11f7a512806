"""What is printed in books, sheets and papers, through the commands as a person types them."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from tests.support.commands import telling

PRINTED = list(csv.DictReader(Path(__file__).with_name("printed.csv").read_text(encoding="utf-8").splitlines()))


@pytest.mark.parametrize("row", PRINTED, ids=[f"{row['command'].split(' --')[0]}-{row['key']}" for row in PRINTED])
def test_printed_example(capsys: pytest.CaptureFixture[str], row: dict[str, str]) -> None:
    assert row["checked"] in ("printed", "from memory", "reckoned again") and row["source"]
    command, *words = row["command"].split()  # nothing in the table has spaces inside a value
    found = telling(command)(capsys, *words)
    *groups, key = row["key"].split(".")
    for group in groups:
        found = found[group]
    assert found[key] == pytest.approx(float(row["expected"]), abs=float(row["tolerance"]) or 1e-12)
