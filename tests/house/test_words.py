"""One word for one thing: no screen, command, message or page says what the table of words has another word for."""

from __future__ import annotations

import ast
import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import coilbench
from coilbench.cli import COMMANDS, main
from coilbench.stages.table import STAGES
from coilbench.stages.words import WORDS, words_of
from coilbench.ui.actions import ACTIONS

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = Path(coilbench.__file__).parent
PICTURES = sorted((ROOT / "tests/ui/__snapshots__").rglob("*.svg"))
NAME = re.compile(r"[\w.#:,-]*")  # of a fact, an action, a style: nobody reads it


def misused(text: str) -> list[str]:
    """What a text says that the table has another word for."""
    return [
        f"{found[0]!r} for {each.word!r}"
        for each in WORDS
        if each.not_said
        for found in re.finditer(each.not_said, text)
    ]


def texts_of(path: Path) -> Iterator[tuple[int, str]]:
    """Every text of a module that a person may read, with its line; a value put into one is written as a figure."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    aside = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}  # docstrings
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            aside |= {id(part) for part in node.values}
            text = "".join(str(part.value) if isinstance(part, ast.Constant) else "1.41" for part in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in aside:
            text = node.value
        else:
            continue
        if not NAME.fullmatch(text):
            yield node.lineno, text


def test_no_module_says_another_word() -> None:
    modules = [path for path in PACKAGE.rglob("*.py") if path != PACKAGE / "stages/words.py"]
    found = [
        f"{path.relative_to(ROOT)}:{line}: {each} in {text[:60]!r}"
        for path in modules
        for line, text in texts_of(path)
        for each in misused(text)
    ]
    assert found == []
    names = [action.id for action in ACTIONS] + [path.read_text(encoding="utf-8") for path in PACKAGE.rglob("*.tcss")]
    assert [name for name in names if "crate" in name] == []


@pytest.mark.parametrize("name", ["", *COMMANDS])
def test_no_help_says_another_word(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*name.split(), "--help"]) == 0
    assert misused(" ".join(capsys.readouterr().out.split())) == []


def test_no_picture_and_no_page_says_another_word() -> None:
    pages = {path: path.read_text(encoding="utf-8") for path in (ROOT / "README.md", *PICTURES)}
    said = {
        path.name: " ".join(re.findall(r">([^<]+)</text>", text)) if path.suffix == ".svg" else text
        for path, text in pages.items()
    }
    assert PICTURES and {name: found for name, text in said.items() if (found := misused(html.unescape(text)))} == {}


def test_every_word_is_told_once_and_every_stage_tells_its_own() -> None:
    assert len({each.word for each in WORDS}) == len(WORDS)
    for row in STAGES:
        told = words_of(row.id)
        assert told.endswith(".") and all(each.means in told for each in WORDS if row.id in each.stages), row.id


def test_the_patterns_find_what_they_are_for() -> None:
    said = (
        "crate", "leaks to the frame", "direct volts", "hot soak", "1.41 T", "fastest start", "fastest run",
        "it skipped", "off by 2 jumps", "the curve wants", "wire anew", "it stands", "25 C", "a guess yet",
        "sure of every lead",
    )  # fmt: skip
    assert [each for each in said if not misused(each)] == []
    assert misused("K/W or C/W, 25 °C, label says, skip this pair, a skip, frame size NEMA 17") == []
