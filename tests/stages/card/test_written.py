"""A card in each medium: what people typed is text in all of them, and never markup."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser

import pytest
from markdown_it import MarkdownIt

from coilbench.plain_text import inert
from coilbench.records.store import Bin
from coilbench.stages.card.card import card_of
from coilbench.stages.card.html import cards_html, labels_html
from coilbench.stages.card.markdown import card_markdown
from coilbench.stages.card.state import MADE_BY, Card
from coilbench.stages.card.text import TAPE_WIDTH, card_text, label_text
from coilbench.stages.desk import Desk
from tests.support import cards

DAY = date(2026, 3, 4)
TAGS = {
    *("html", "head", "meta", "title", "style", "body", "article", "header", "h1", "h2", "p", "br", "div", "figure"),
    *("figcaption", "table", "thead", "tbody", "tr", "th", "td", "section", "dl", "dt", "dd", "footer", "ul", "li"),
    *("main", "span", "b", "svg", "rect", "polyline", "path", "g", "circle", "text"),
}


@pytest.fixture(scope="module")
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as opened:
        yield opened


@pytest.fixture(scope="module")
def made(bin_: Bin) -> dict[str, Card]:
    return {make.__name__: card_of(Desk(bin_, make(bin_)), DAY) for make in cards.ALL}


class Page(HTMLParser):
    """The tags, attributes and texts of a document."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def test_html_holds_what_was_typed_as_text_and_fetches_nothing(made: dict[str, Card]) -> None:
    everyone = list(made.values())
    for text in (cards_html(everyone), labels_html([card.label for card in everyone])):
        page = Page(text)
        assert page.tags <= TAGS
        assert not {each for each in page.attributes if each.startswith("on") or each in ("src", "href", "style")}
        assert {card.motor for card in everyone} <= set(page.texts)
        outside = text.replace("http://www.w3.org/2000/svg", "").replace("http\\://b", "").replace("http://b", "")
        assert "://" not in outside and "url(" not in text and "@import" not in text
    assert inert(cards.NASTY)[:30] in "".join(Page(cards_html([made["nasty"]])).texts)
    assert "\u202e" not in cards_html(everyone)


def test_markdown_holds_what_was_typed_as_text(made: dict[str, Card]) -> None:
    """By a reader of CommonMark with tables and bare addresses."""
    reader = MarkdownIt("commonmark", {"html": True}).enable("table")
    for card in made.values():
        inside: list[str] = []
        cells: list[str] = []
        for token in reader.parse(card_markdown(card)):
            kinds = [child.type for child in token.children or ()]
            inside += [kind for kind in kinds if kind not in ("text", "strong_open", "strong_close", "text_special")]
            if token.type == "html_block":
                assert token.content.strip() == f"<!-- {MADE_BY} -->"
            if token.type == "inline":
                cells.append("".join(child.content for child in token.children or ()))
        assert inside == []
        for part in card.sections:
            assert {inert(each.says) for each in part.entries} <= set(cells)
        assert {each.lead for each in card.leads} <= set(cells)
        assert sum(token.type == "fence" for token in reader.parse(card_markdown(card))) == (card.picture is not None)


@pytest.mark.parametrize("ascii", [False, True])
def test_text_keeps_to_its_width_and_drives_no_terminal(made: dict[str, Card], ascii: bool) -> None:
    for name, card in made.items():
        text = card_text(card, 72, ascii=ascii)
        tape = label_text(card.label, ascii=ascii)
        assert text.replace("\n", "").isprintable() and tape.replace("\n", "").isprintable()
        if ascii:
            assert text.isascii() and tape.isascii()
        elif name != "fullest":  # long lead names make the table wide
            assert max(map(len, text.splitlines())) <= 72
        assert ascii or max(map(len, tape.splitlines())) <= TAPE_WIDTH
        for part in card.sections:
            assert part.title in text
        assert MADE_BY in text and MADE_BY in tape


def test_a_label_says_what_to_wire_and_to_set(made: dict[str, Card]) -> None:
    assert label_text(made["whole"].label).splitlines() == [
        "M-02, unipolar-6",
        "A+ RD  A− BU  B+ GN  B− BK  insulate WH",
        "insulate YE",
        "0.233 A peak, rated 0.233 A RMS",
        "VREF 0.186 V on A4988 R100",
        "24 V, 1/16",
        "2026-03-04, made by coilbench",
    ]
    assert label_text(made["leaky"].label).splitlines()[1:3] == [
        "! do not power this motor: RD conducts",
        "  to the case",
    ]
