"""A machine's sheet: what each axis is told, what isn't known, and names from people as text in every form."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from html.parser import HTMLParser

import pytest
from markdown_it import MarkdownIt

from coilbench.records.store import Bin
from coilbench.stages.machine.sheet import Sheet, as_json, sheet_of
from coilbench.stages.machine.sheet_html import sheet_html
from coilbench.stages.machine.sheet_text import sheet_markdown, sheet_text
from tests.support import cards
from tests.support.machines import HEAD, add, axis, fit

DAY = date(2026, 3, 4)
SENSE = HEAD.replace('chip = "DRV8825"', 'chip = "DRV8825"\nsense = "R100"')
RAMP = 'acceleration = "300 mm/s2"\nmicrosteps = 16\n'


@pytest.fixture
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as made:
        yield made


def sheet(bin_: Bin, *axes: str, head: str = SENSE) -> Sheet:
    return sheet_of(fit(bin_, *axes, head=head), bin_, DAY)


def test_an_axis_says_what_to_wire_and_to_set(bin_: Bin) -> None:
    add(bin_, "one")
    made = sheet(bin_, axis("slide", "2 kg", RAMP))
    (slide,) = made.axes
    said = {each.name: each.text for each in slide.entries}
    assert said["motor"] == "one" and said["connect"] == "bipolar"
    # DRV8825 (TI SLVSA73F): VREF = 5 x sense x peak.
    assert said["set"] == "VREF 0.5 V, 1 A peak a winding" and said["driver"] == "board: DRV8825, sense R100"
    # 20 teeth of 2 mm are 40 mm a turn; 200 steps in 16 parts.
    assert said["steps per mm"] == "80" and said["microsteps"] == "1/16"
    assert said["speed"] == "40 mm/s, 200 steps/s, 60 rpm of the motor, 3200 pulses/s"
    assert said["speeds up"] == "300 mm/s2, 1500 steps/s²"
    assert said["rates"].startswith("200 steps/s needed, good for") and "no trial yet" in said["rates"]
    assert said["supply"] == "block, 24 V" and "A time-lag; wire AWG" in said["fuse"]
    assert slide.row[:4] == ("slide", "one", "VREF 0.5 V", "1 A") and slide.row[4] == "80 steps per mm"
    assert [(each.lead, each.goes) for each in slide.motors[0].leads] == [
        ("RD", "A+"),
        ("BU", "A−"),
        ("GN", "B+"),
        ("BK", "B−"),
    ]
    (label,) = made.labels
    assert label.motor == "slide: one" and label.figures == (
        "bipolar, 1 A peak",
        "VREF 0.5 V",
        "80 steps per mm",
        "block",
    )


def test_what_is_not_known_says_so(bin_: Bin) -> None:
    add(bin_, "one", holding_torque_newton_metre=0.01)
    made = sheet(bin_, axis("lift", "5 kg", 'incline = "90 deg"\n'), axis("other", "1 kg", "motors = 2\n"), head=HEAD)
    lift, other = made.axes
    assert lift.row[2] == "not known" and lift.warnings, "no sense resistor was told, and its margin is short"
    assert made.labels[0].figures == ("bipolar, 1 A peak", "5 steps per mm", "block"), "on a label it takes no room"
    said = {each.name: each.says for each in lift.entries}
    assert said["set"] == "1 A peak a winding" and "pulls it back" in said["power off"]
    assert other.row[1] == "none yet" and other.motors == () and other.entries[0].says == "not known"
    assert [each.split(" needs:")[0] for each in made.findings[:2]] == ["lift", "other"]


def test_a_motor_that_is_wired_else_is_told(bin_: Bin) -> None:
    cards.whole(bin_)
    fast = axis("slide", "0.1 kg").replace("40 mm/s", "200 mm/s")  # where half the turns have the more torque
    (slide,) = sheet(bin_, fast).axes
    assert slide.entries[1].text == "half-coil (now wired series: change it)"
    assert slide.motors[0].drawn == "connected: half-coil"
    assert [each.goes for each in slide.motors[0].leads if each.lead in ("WH", "YE")] == ["A−", "B−"]


class Page(HTMLParser):
    """The tags and texts of a document."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.texts: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        assert not {name for name, _ in attrs if name.startswith("on") or name in ("src", "href")}

    def handle_data(self, data: str) -> None:
        self.texts.append(data)


def test_names_are_text_in_every_form(bin_: Bin) -> None:
    name = "<b onload=x>|*`[a](b)"
    add(bin_, name)
    odd = axis("AXIS", "1 kg").replace('"AXIS"', '"<i>|*`_a_"')
    made = sheet(bin_, odd, head='name = "<script>alert(1)</script>\\u202e"\n' + SENSE)
    page = Page(sheet_html(made))
    assert not page.tags & {"script", "i"} and name in page.texts and "\u202e" not in "".join(page.texts)
    inside = []
    for token in MarkdownIt("commonmark", {"html": True}).enable("table").parse(sheet_markdown(made)):
        inside += [child.type for child in token.children or ()]
        assert token.type != "html_block" or token.content.startswith("<!-- made by coilbench -->")
    assert set(inside) <= {"text", "text_special", "strong_open", "strong_close"}
    text = sheet_text(made, 80)
    assert text.replace("\n", "").isprintable() and "<script>alert(1)</script>" in text
    assert sheet_text(made, 80, ascii=True).isascii()
    assert as_json(made)["axes"][0]["motors"][0]["motor"] == name
