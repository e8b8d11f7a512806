"""The drawings of the sketch's README are those of the bench, and the README shows each."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from tests.board import drawings


def test_the_readme_shows_what_the_bench_draws() -> None:
    readme = (drawings.FOLDER.parent / "README.md").read_text(encoding="utf-8")
    shown = re.findall(r"!\[[^\]]+\]\(drawings/([^)]+)\)", readme)
    made = drawings.drawings()
    assert sorted(shown) == sorted(made) == sorted(each.name for each in drawings.FOLDER.iterdir())
    for name, text in made.items():
        same = (drawings.FOLDER / name).read_text(encoding="utf-8") == text
        assert same, f"{name} is not what the bench draws: python -m tests.board.drawings"
        assert ElementTree.fromstring(text).find("{http://www.w3.org/2000/svg}title") is not None
