"""The wiring drawing: every arrangement, finished and partial, with faults, in Unicode, ASCII and SVG."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.winding.drawing.contrast import readable_on
from coilbench.winding.drawing.figures import cell_width, ohms, percent
from coilbench.winding.drawing.model import WiringDrawing, draw
from coilbench.winding.drawing.strip import APART, Hookup, compact, lay_out, roomy
from coilbench.winding.drawing.svg import strip_svg
from coilbench.winding.drawing.text import as_text, lead_list, strip_lines
from coilbench.winding.engine.verdict import Coil, Fault, Verdict
from coilbench.winding.order.judging import judge_order
from coilbench.winding.order.types import OrderQuestion, OrderTest
from coilbench.winding.readings.reading import Reading

SVG = "{http://www.w3.org/2000/svg}"

SIX = ("RD", "BU", "WH", "GN", "BK", "YE")
COIL_A = Coil("A", ("RD", "BU"), "WH", 48.2, 0.3, True)
COIL_B = Coil("B", ("GN", "BK"), "YE", 48.2, 0.3, True)


def separate(arrangement: str, leads: tuple[str, ...]) -> Verdict:
    pairs = zip(leads[::2], leads[1::2], strict=True)
    coils = tuple(Coil(name, pair, None, 3.2, 0.1, True) for name, pair in zip("ABCDE", pairs, strict=False))
    return Verdict(leads, arrangement, 0.99, coils, readings=9)


def star(arrangement: str, leads: tuple[str, ...]) -> Verdict:
    coils = tuple(Coil(n, (leads[0], end), None, 24.1, 0.2, True) for n, end in zip("ABCD", leads[1:], strict=False))
    return Verdict(leads, arrangement, 0.99, coils, common=leads[0], readings=5)


def ring(leads: tuple[str, ...]) -> Verdict:
    sides = [
        (leads[0], leads[1]),
        (leads[2], leads[1]),
        (leads[3], leads[4]),
        (leads[2], leads[3]),
        (leads[4], leads[0]),
    ]
    coils = tuple(Coil(n, side, None, 2.1, 0.05, True) for n, side in zip("ABCDE", sides, strict=True))
    return Verdict(leads, "five-phase-ring-5", 0.99, coils, readings=9)


TEN = tuple(str(k) for k in range(1, 11))
EVERY = {
    "single-coil-2": separate("single-coil-2", SIX[:2]),
    "tapped-coil-3": Verdict(SIX[:3], "tapped-coil-3", 0.99, (COIL_A,), readings=3),
    "three-phase-3": Verdict(SIX[:3], "three-phase-3", 0.99, lead_ohm=2.2, readings=3),
    "bipolar-4": separate("bipolar-4", SIX[:4]),
    "three-phase-star-4": star("three-phase-star-4", SIX[:4]),
    "unipolar-5": star("unipolar-5", SIX[:5]),
    "five-phase-ring-5": ring(SIX[:5]),
    "five-phase-star-5": Verdict(SIX[:5], "five-phase-star-5", 0.99, lead_ohm=4.2, readings=5),
    "unipolar-6": Verdict(SIX, "unipolar-6", 0.99, (COIL_A, COIL_B), readings=6),
    "three-phase-6": separate("three-phase-6", SIX),
    "split-8": separate("split-8", (*SIX, "OG", "VT")),
    "five-phase-10": separate("five-phase-10", TEN),
    "unknown": Verdict(SIX, "unknown", 0.2, readings=2),
    "bipolar-4 with spares": Verdict(
        SIX, "bipolar-4", 0.97, separate("bipolar-4", SIX[:4]).coils, spare=("BK", "YE"), readings=7
    ),
}


def text_of(drawing: WiringDrawing, *, width: int = 76, ascii: bool = False, hookup: Hookup | None = None) -> str:
    return as_text(strip_lines(lay_out(drawing, hookup), width=width, ascii=ascii, rotor=False))


def svg_of(drawing: WiringDrawing, hookup: Hookup | None = None) -> str:
    return strip_svg(lay_out(drawing, hookup))


def words(text: str) -> set[str]:
    return set(text.replace(",", " ").replace(".", " ").split())


@pytest.mark.parametrize("name", EVERY)
@pytest.mark.parametrize("width", [34, 40, 76])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_every_arrangement_fits_and_names_every_lead(name: str, width: int, ascii_only: bool) -> None:
    verdict = EVERY[name]
    for strip in (lay_out(draw(verdict)), compact(lay_out(draw(verdict)))):
        text = as_text(strip_lines(strip, ascii=ascii_only, width=width))
        assert max(map(cell_width, text.splitlines())) <= width
        assert all(words(text) & {lead, f"{lead}?"} for lead in verdict.leads)
        assert not ascii_only or text.isascii()
        assert text == "\n".join(line.rstrip() for line in text.splitlines())


@pytest.mark.parametrize("name", EVERY)
def test_little_height_takes_away_rows_and_nothing_else(name: str) -> None:
    full = lay_out(draw(EVERY[name]))
    short = compact(full)
    assert len(short.rows) <= len(full.rows)
    assert [row.lead for row in short.rows if row.terminal] == [row.lead for row in full.rows if row.terminal]
    drawn = sorted(row.winding or row.run for row in full.rows if row.winding or row.run)
    assert sorted(row.winding or row.run for row in short.rows if row.winding or row.run) == drawn
    assert {row.remark for row in full.rows} - {""} == {row.remark for row in short.rows} - {""}


@pytest.mark.parametrize("name", EVERY)
def test_much_height_draws_rows_apart_and_breaks_no_wire(name: str) -> None:
    full = lay_out(draw(EVERY[name]))
    large = roomy(full)
    assert [row for row in large.rows if row.terminal or row.winding] == [
        row for row in full.rows if row.terminal or row.winding
    ]
    lines = as_text(strip_lines(large, large=True, rotor=False)).splitlines()[: len(large.rows)]
    assert max(map(len, lines)) <= 76
    for row, line, below in zip(large.rows, lines, lines[1:], strict=False):
        if row.node in ("top", "tee"):
            assert below[line.index("╮" if row.node == "top" else "┤")] in "│┤⊃╳‡"


@pytest.mark.parametrize("name", EVERY)
def test_every_arrangement_as_svg(name: str) -> None:
    verdict = EVERY[name]
    root = ElementTree.fromstring(svg_of(draw(verdict)))
    shown = " ".join(element.text or "" for element in root.iter())
    assert all(lead in words(shown) for lead in verdict.leads)
    assert root.get("viewBox")


def test_two_tapped_coils_look_like_this() -> None:
    assert text_of(draw(EVERY["unipolar-6"]), width=40) == (
        " RD ●───╮\n"
        "        ⊃ A 48.2 ±0.3 Ω\n"
        " WH ●───┤\n"
        "        ⊃ end to end\n"
        " BU ●───╯\n"
        "\n"
        " GN ●───╮\n"
        "        ⊃ B 48.2 ±0.3 Ω\n"
        " YE ●───┤\n"
        "        ⊃ end to end\n"
        " BK ●───╯"
    )


def test_a_common_lead_looks_like_this() -> None:
    assert text_of(draw(EVERY["unipolar-5"]), width=40, ascii=True) == (
        " BU o-mmm-+ A 24.1 +/-0.2 ohm\n"
        " WH o-mmm-+ B 24.1 +/-0.2 ohm\n"
        " GN o-mmm-+ C 24.1 +/-0.2 ohm\n"
        " BK o-mmm-+ D 24.1 +/-0.2 ohm\n"
        " RD o-----+ common"
    )


def test_where_leads_go_looks_like_this() -> None:
    goes = {"RD": "A+", "WH": APART, "BU": "A−", "GN": "B+", "YE": APART, "BK": "B−"}
    text = text_of(draw(EVERY["unipolar-6"]), width=44, hookup=Hookup(goes))
    assert text.splitlines()[:5] == [
        "   A+ ■── RD ●───╮",
        "                 ⊃ A 48.2 ±0.3 Ω",
        "apart ╳   WH ●───┤",
        "                 ⊃ end to end",
        "   A− ■── BU ●───╯",
    ]
    shown = [
        element.text for element in ElementTree.fromstring(svg_of(draw(EVERY["unipolar-6"]), Hookup(goes))).iter()
    ]
    assert "A+" in shown and "apart, insulated" in shown


def test_leads_to_be_joined_are_bracketed_or_named() -> None:
    near = text_of(draw(EVERY["split-8"]), hookup=Hookup({"RD": "A+", "GN": "A−"}, [("BU", "WH")]))
    assert [line for line in near.splitlines() if "╭─ BU" in line] and [
        line for line in near.splitlines() if "╰─ WH" in line
    ]
    far = text_of(draw(EVERY["split-8"]), hookup=Hookup({}, [("RD", "VT")]))
    assert "╭─ RD" not in far and far.count("join RD + VT") == 2


def test_a_rotor_stands_where_there_is_room() -> None:
    strip = lay_out(draw(EVERY["bipolar-4"]))
    assert "rotor" in as_text(strip_lines(strip, width=44)) and "rotor" not in as_text(strip_lines(strip, width=33))
    assert "rotor" not in as_text(strip_lines(lay_out(draw(EVERY["three-phase-6"])), width=76))


def test_a_striped_lead_has_both_its_colours() -> None:
    verdict = separate("bipolar-4", ("WH/BU", "RD", "GN", "black"))
    pieces = [piece for line in strip_lines(lay_out(draw(verdict))) for piece in line if piece.ink == "lead"]
    assert [len(piece.css) for piece in pieces] == [2, 1, 1, 1]
    assert readable_on(("#000000",)) == "#ffffff" and readable_on(("#ffff00",)) == "#000000"


def test_a_ring_follows_its_sides_round() -> None:
    lines = text_of(draw(EVERY["five-phase-ring-5"])).splitlines()
    assert [line.split()[0] for line in lines[:10:2]] == ["RD", "BU", "WH", "GN", "BK"]
    assert [line.split()[2] for line in lines[1:10:2]] == ["A", "B", "D", "C", "E"]


def test_leads_not_found_yet_are_loose() -> None:
    doubt = {"RD": 0.02, "BU": 0.02, "WH": 0.03, "GN": 0.3, "BK": 0.6, "YE": 0.7}
    partial = Verdict(SIX, "unipolar-6", 0.5, (COIL_A, COIL_B), readings=4, doubt=doubt)
    text = text_of(draw(partial), width=76)
    assert " GN? ●───╮" in text and text.count(" ?   ○───") == 2
    assert "BK  ●── ?" in text and "YE  ●── ?" in text
    assert "WH white 97 %" in "\n".join(lead_list(draw(partial).leads))
    assert {lead.name for lead in draw(partial).loose} == {"BK", "YE"}


def test_nothing_is_claimed_before_the_first_reading() -> None:
    fresh = Verdict(SIX, "unipolar-6", 0.9, (COIL_A, COIL_B), doubt={})
    drawing = draw(fresh)
    assert not drawing.coils and len(drawing.loose) == 6


def test_pairs_that_conduct_are_drawn_before_their_place_is_sure() -> None:
    partial = Verdict(SIX, "unipolar-6", 0.02, (COIL_A, COIL_B), readings=3, doubt=dict.fromkeys(SIX, 0.9))
    readings = [
        Reading("RD", "GN", 24.3),
        Reading("RD", "YE", math.inf),
        Reading("GN", "RD", 24.2),
        Reading("YE", "frame", 3.0),
    ]
    drawing = draw(partial, readings=readings)
    assert [(coil.first, coil.second) for coil in drawing.measured] == [("RD", "GN")]
    text = text_of(drawing)
    assert " RD? ●───╮\n         ⊃ 24.3 Ω measured\n GN? ●───╯" in text
    assert "RD  ●── ?" not in text and "YE  ●── ?" in text


def test_faults_are_marked() -> None:
    dead_half = Verdict(
        SIX,
        "unipolar-6",
        0.99,
        (COIL_A, Coil("B", ("GN", "BK"), "YE")),
        faults=(Fault("open", ("YE", "BK"), ""),),
        readings=7,
    )
    assert " YE ●───┤\n        ╳ open\n BK ●───╯" in text_of(draw(dead_half))
    assert " YE o---+\n        x open\n BK o---+" in text_of(draw(dead_half), ascii=True)
    assert " BK ●──╳──╯ open" in as_text(strip_lines(compact(lay_out(draw(dead_half)))))

    dead = Verdict(
        SIX[:4],
        "bipolar-4",
        0.99,
        separate("bipolar-4", SIX[:4]).coils,
        faults=(Fault("open", ("WH", "GN"), ""),),
        readings=3,
    )
    assert " WH ●───╮\n        ╳ B open, 3.2" in text_of(draw(dead), width=40)
    assert [coil.dead for coil in draw(dead).coils] == [False, True]

    shorted = Verdict(
        SIX, "unipolar-6", 0.99, (COIL_A, COIL_B), faults=(Fault("shorted-turns", ("RD", "WH"), ""),), readings=7
    )
    assert " RD ●───╮\n        ‡ A shorted turns?, 48.2" in text_of(draw(shorted), width=48)

    broken = Verdict(SIX, "unipolar-6", 0.99, (COIL_A,), faults=(Fault("broken-lead", ("YE",), ""),), readings=7)
    assert "YE ●── broken off" in text_of(draw(broken))

    leaking = Verdict(SIX, "unipolar-6", 0.99, (COIL_A, COIL_B), faults=(Fault("frame", ("RD",), ""),), readings=7)
    assert "! RD to the case: do not power it" in text_of(draw(leaking))
    assert "do not power it" in svg_of(draw(leaking))


def test_order_and_joins_are_drawn_only_once_known() -> None:
    verdict = EVERY["split-8"]
    question = OrderQuestion(halves=tuple(coil.ends for coil in verdict.coils))
    assert "join" not in text_of(draw(verdict, judge_order(question, [])))
    flicks = [
        OrderTest("flick", "RD", "WH", "plus"),
        OrderTest("flick", "RD", "WH", "plus"),
        OrderTest("flick", "BK", "OG", "minus"),
        OrderTest("flick", "BK", "OG", "minus"),
        OrderTest("flick", "RD", "BK", "none"),
    ]
    text = text_of(draw(verdict, judge_order(question, flicks)))
    assert "series: join BU and WH" in text and "phase A" in text
    assert "clockwise" not in text


names = st.lists(st.text(min_size=1, max_size=24), min_size=4, max_size=4, unique=True)


@given(names, st.integers(34, 90), st.booleans())
@settings(max_examples=60, deadline=None)
def test_typed_names_are_inert(leads: list[str], width: int, ascii_only: bool) -> None:
    verdict = separate("bipolar-4", tuple(leads))
    text = text_of(draw(verdict), ascii=ascii_only, width=width)
    assert all(character.isprintable() for character in text.replace("\n", ""))
    assert max(map(cell_width, text.split("\n"))) <= width
    root = ElementTree.fromstring(svg_of(draw(verdict)))
    tags = {element.tag.split("}")[1] for element in root.iter()}
    assert tags <= {"svg", "title", "rect", "polyline", "path", "g", "circle", "text"}


def test_markup_and_formulas_stay_text() -> None:
    verdict = separate("bipolar-4", ("[/x]", "=1+1", "<b>&", "a'\""))
    text = text_of(draw(verdict))
    assert "[/x]" in text and "=1+1" in text and "<b>&" in text
    root = ElementTree.fromstring(svg_of(draw(verdict)))
    assert "<b>&" in {(element.text or "").strip() for element in root.iter()}


def test_numbers_in_words() -> None:
    assert ohms(48.16, 0.31) == "48.2 ±0.3 Ω"
    assert ohms(2.104, 0.052) == "2.10 ±0.05 Ω"
    assert ohms(0.23, 0.003) == "0.23 ±0.01 Ω", "a doubt never reads as none"
    assert ohms(1204.0, 12.0) == "1204 ±12 Ω"
    assert ohms(math.inf, None) == "open"
    assert ohms(None, None) == ""
    assert percent(0.9999) == ">99 %"
    assert percent(0.95) == "95 %"
    assert percent(0.949) == "94 %", "never rounded up over a bar"
    assert percent(0.001) == "<1 %"


def test_svg_makes_room_for_long_words_at_its_left() -> None:
    """A lead's name, the terminal it goes to and the wire between them don't run into each other."""
    named = {"turquoise/white": "supply +", "RD": "A1"}
    coil = Coil("A", ("turquoise/white", "RD"), None, 2.4, 0.1, alive=True)
    verdict = replace(EVERY["bipolar-4"], leads=tuple(named), coils=(coil,), confidence=0.99)
    root = ElementTree.fromstring(svg_of(draw(verdict), Hookup(named)))
    left = float(root.attrib["viewBox"].split()[0])
    rects = [each for each in root.iter(f"{SVG}rect") if each.get("rx")]
    docks = [each for each in root.iter(f"{SVG}rect") if each.get("width") == "12"]
    words = [each for each in root.iter(f"{SVG}text") if each.get("text-anchor") == "end"]
    assert len(docks) == len(words) == 2
    assert max(float(each.attrib["x"]) + 12 for each in docks) < min(float(each.attrib["x"]) for each in rects)
    assert min(float(each.attrib["x"]) - 8 * len(each.text or "") for each in words) > left
