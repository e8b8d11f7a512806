"""Cards and labels in a real browser: one page each on A4 and on Letter, nothing cut, nothing run."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from coilbench.records.store import Bin
from coilbench.stages.card.card import card_of
from coilbench.stages.card.html import cards_html, labels_html
from coilbench.stages.card.state import Card
from coilbench.stages.desk import Desk
from coilbench.stages.machine.sheet import sheet_of
from coilbench.stages.machine.sheet_html import sheet_html
from tests.support import cards, machines
from tests.support.browser import Browser

# ISO 216 and ANSI/ASME Y14.1: width and height in mm.
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
TEXT_WIDTH_MM = 186

# Every text with its place, that of the card it stands in, and whether a parent hides a part of it.
TEXTS = """(() => {
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode;
    if (!node.data.trim() || node.parentElement.closest('title')) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const box = range.getBoundingClientRect();
    const parent = node.parentElement;
    const holder = (parent.closest('svg') || parent.closest('article')).getBoundingClientRect();
    const style = getComputedStyle(parent);
    found.push({
      text: node.data, svg: !!parent.closest('svg'), color: style.color, shown: box.width > 0,
      ellipsis: getComputedStyle(parent.closest('span') || parent).textOverflow === 'ellipsis',
      over: Math.max(holder.left - box.left, box.right - holder.right, holder.top - box.top,
                     box.bottom - holder.bottom),
    });
  }
  return found;
})()"""
STRAY = "document.querySelectorAll('script, img, link, iframe, [onerror], [src], [href]').length"


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    with Browser(tmp_path_factory.mktemp("browser")) as started:
        yield started


@pytest.fixture(scope="module")
def made() -> tuple[Card, ...]:
    with Bin.scratch() as bin_:
        return tuple(card_of(Desk(bin_, make(bin_)), date(2026, 3, 4)) for make in cards.ALL)


def pages(pdf: bytes) -> int:
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


def texts(browser: Browser, file: Path) -> list[dict[str, Any]]:
    browser.open(file, width_mm=TEXT_WIDTH_MM)
    found: list[dict[str, Any]] = browser.ask(TEXTS)
    assert found and browser.ask(STRAY) == 0
    return found


def test_each_card_is_one_page_on_either_paper(browser: Browser, made: tuple[Card, ...], tmp_path: Path) -> None:
    for card in made:
        file = tmp_path / "card.html"
        file.write_text(cards_html([card]), encoding="utf-8")
        cut = [each for each in texts(browser, file) if each["over"] > 1 or not each["shown"]]
        assert not cut, (card.motor, cut)
        for paper, size in PAPERS.items():
            assert pages(browser.pdf(*size)) == 1, (card.motor, paper)


def test_several_cards_are_a_page_each(browser: Browser, made: tuple[Card, ...], tmp_path: Path) -> None:
    file = tmp_path / "cards.html"
    file.write_text(cards_html(made), encoding="utf-8")
    browser.open(file, width_mm=TEXT_WIDTH_MM)
    assert [pages(browser.pdf(*size)) for size in PAPERS.values()] == [len(made)] * 2


def test_it_reads_without_colour(browser: Browser, made: tuple[Card, ...], tmp_path: Path) -> None:
    """All text is black on white; only a drawing has colours, and those are named in it and beside it."""
    file = tmp_path / "cards.html"
    file.write_text(cards_html(made[:1]), encoding="utf-8")
    found = texts(browser, file)
    assert {each["color"] for each in found if not each["svg"]} == {"rgb(0, 0, 0)"}
    drawn = {each["text"] for each in found if each["svg"]}
    said = {each["text"] for each in found if not each["svg"]}
    assert {each.lead for each in made[0].leads} <= drawn & said
    assert {each.colour for each in made[0].leads} <= said


def test_a_machines_sheet_cuts_no_axis_in_two(browser: Browser, tmp_path: Path) -> None:
    with Bin.scratch() as bin_:
        for name in ("one", "two", "other", "M" * 60):
            machines.add(bin_, name)
        cards.whole(bin_)
        axes = [machines.axis(name, "1 kg") for name in ("feeder", "N" * 40, "table")]
        pair = machines.axis("slide", "2 kg", "motors = 2\n")
        sheet = sheet_of(machines.fit(bin_, *axes, pair), bin_, date(2026, 3, 4))
    file = tmp_path / "sheet.html"
    file.write_text(sheet_html(sheet), encoding="utf-8")
    found = texts(browser, file)
    assert not [each for each in found if each["over"] > 1 or not each["shown"]]
    assert {each["color"] for each in found if not each["svg"]} == {"rgb(0, 0, 0)"}
    assert browser.ask("Math.max(...[...document.querySelectorAll('section')].map(each => each.offsetHeight))") < 980
    assert {pages(browser.pdf(*size)) for size in PAPERS.values()} == {3}


def test_labels_keep_within_their_size(browser: Browser, made: tuple[Card, ...], tmp_path: Path) -> None:
    sheet = [card.label for card in made] * 2
    file = tmp_path / "labels.html"
    file.write_text(labels_html(sheet), encoding="utf-8")
    found = texts(browser, file)
    # A name that no label has room for ends in an ellipsis; where its lead goes stands before it.
    cut = [each for each in found if (each["over"] > 1 or not each["shown"]) and not each["ellipsis"]]
    assert not cut, cut
    assert [pages(browser.pdf(*size)) for size in PAPERS.values()] == [1, 1]
