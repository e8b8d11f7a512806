"""Every published value has its source, in one of a few forms, and says how strong it is.

A published work is named by author or maker and title (``Maker: title, section``), a standard by its number. ``weak``
is what is no document of the maker's or a standard's own: a dealer's list, a forum, a wiki, somebody's web page.
"""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
STRENGTHS = {"read", "weak", "memory"}
# Tables that hold no published value: made by a program, or words for a parser.
OWN = {
    "coilbench/motion/response.csv",
    "coilbench/board/flash/images/built.csv",
    "tests/board/corpus.csv",
    "tests/long_runs.csv",
}
TABLES = sorted(
    path.relative_to(ROOT).as_posix()
    for room in ("coilbench", "tests")
    for path in (ROOT / room).rglob("*.csv")
    if path.relative_to(ROOT).as_posix() not in OWN
)
CODE = sorted(path for room in ("coilbench", "tests") for path in (ROOT / room).rglob("*.py"))

# "Maker: title", "TI SLVSA73F" (a maker and a document's number), "IEC 60757", "Shigley eq. 8-1": a name, then what.
_NAMED = re.compile(r"[A-Z0-9][\w&'.+/-]*([ ,]+\w[\w&'.+/-]*)*(: \S|[ ,]+\S*\d)")
_WEAK_KINDS = re.compile(
    r"\b(forum|thread \d+|wiki|blog|reseller|shop|tuner's|dealer's|open library|sellers|web page|project's page"
    r"|open implementation)\b",
    re.IGNORECASE,
)
_SHEET = re.compile(r"\b(data sheet|manual|catalogue)\b")
_LOST = re.compile(r"address not kept|not kept\b.*\baddress|basicpi|stored copy", re.IGNORECASE)


def rows(name: str) -> list[dict[str, str]]:
    lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def sources(name: str) -> list[tuple[dict[str, str], str]]:
    """Each row with its source; of a table about one document that stands at its head."""
    head = " ".join(
        line.removeprefix("#") for line in (ROOT / name).read_text("utf-8").splitlines() if line[:1] == "#"
    )
    return [(row, row.get("source") or row.get("document") or head) for row in rows(name)]


@pytest.mark.parametrize("name", TABLES)
def test_each_row_names_its_source_and_its_strength(name: str) -> None:
    assert rows(name)
    for row, source in sources(name):
        assert source.strip(), row
        assert not _LOST.search(source), source
        status = row.get("status") or row.get("checked") or ""
        if name.endswith("chips.csv"):
            assert status in {"verified", "memory"}, row["chip"]
            said = source.split("; ")[1:]  # what was read beside the maker's own document
            assert all(part.startswith("weak: ") for part in said if "carrier" in part), source
        elif "checked" in row:
            assert status in {"printed", "reckoned again", "from memory"}, row
        elif "status" in row:
            assert status in STRENGTHS, row
        unnamed = status in {"memory", "weak", "reckoned again"} or source.startswith("weak: ")
        at_the_head = "source" not in row and "document" not in row
        named = (_NAMED.search if at_the_head else _NAMED.match)(source)
        assert unnamed or named, source
        if _WEAK_KINDS.search(source) and status not in {"weak", "memory", "reckoned again"}:
            assert "weak" in source or "maker's web page" in source or "restates" in source, source


@pytest.mark.parametrize("name", [name for name in TABLES if "memory" in rows(name)[0]])
def test_values_from_memory_are_columns_of_their_row(name: str) -> None:
    for row in rows(name):
        for column in row["memory"].split():
            column = column.partition(":")[0]
            assert column == "all" or (row.get(column)), (name, row, column)
        if row["status"] == "memory" and not name.endswith("chips.csv"):
            assert row["memory"], row


def remarks(text: str) -> list[str]:
    """A file's comments and docstrings, those on neighbouring lines together."""
    docs = re.findall(r'"""(.*?)"""', text, re.DOTALL)
    comments, block = [], ""
    for line in text.splitlines():
        found = re.search(r"(?:^|\s)#(?!:) ?(.*)$", line)
        if found and (line.lstrip().startswith("#") or "  # " in line):
            block = f"{block} {found.group(1)}" if line.lstrip().startswith("#") else found.group(1)
            comments.append(block)
        else:
            block = ""
    return docs + comments


def test_what_is_no_document_of_its_own_is_marked_weak() -> None:
    found = [each for path in CODE if path != Path(__file__) for each in remarks(path.read_text(encoding="utf-8"))]
    assert len(found) > 1000
    for remark in found:
        assert not _LOST.search(remark), remark
        if _WEAK_KINDS.search(remark) and re.search(r"\d", remark) and "workshop" not in remark.lower():
            assert "weak" in remark.lower(), remark
        if _SHEET.search(remark) and re.search(r"\d", remark):
            assert re.search(r"[\w')]: |weak|from memory", remark), remark


@pytest.mark.parametrize("path", ["coilbench/rating/copper.py", "tests/rating/test_soak.py"])
def test_rises_and_classes_cite_their_standards(path: str) -> None:
    text = (ROOT / path).read_text(encoding="utf-8")
    assert "IEC 60034-1" in text and "IEC 60085" in text
