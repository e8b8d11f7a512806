"""Every text of every picture of the screens stands out from its ground: WCAG 2.2, 1.4.3, 4.5 to 1 for text, and
1.4.11, 3 to 1 for lines and shapes."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

PICTURES = sorted((Path(__file__).with_name("__snapshots__") / "test_snapshots").glob("*.svg"))
TEXT, SHAPE = 4.5, 3.0
SVG = "{http://www.w3.org/2000/svg}"


def luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb`` (WCAG 2.2, its definition)."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours."""
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_measure_is_the_standards() -> None:
    # WCAG 2.2, definition of contrast ratio: black on white is 21 to 1; G18's own example, #767676 on white, 4.54.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


def faint(picture: str) -> list[str]:
    """The texts of a picture that don't stand out enough, each with its ratio."""
    fills = dict(re.findall(r"\.(\S+-r\d+) \{ fill: (#[0-9a-f]{6})", picture))
    grounds: list[tuple[float, float, float, float, str]] = []
    found = []
    for each in ElementTree.fromstring(picture).iter():
        if each.tag == f"{SVG}rect" and each.get("fill", "").startswith("#"):
            x, y, width, height = (float(each.get(name, "0")) for name in ("x", "y", "width", "height"))
            grounds.append((x, y, x + width, y + height, each.get("fill", "")))
        elif each.tag == f"{SVG}text" and (colour := fills.get(each.get("class", ""))):
            text = (each.text or "").replace("\u00a0", " ")
            x, y = float(each.get("x", "0")) + 1, float(each.get("y", "0")) - 5
            under = [fill for left, top, right, bottom, fill in grounds if left <= x < right and top <= y < bottom]
            if not text.strip() or not under or set(text) == {"█"}:  # a lead's own colour, its name beside it
                continue
            wanted = TEXT if re.search(r"\w", text) else SHAPE
            ratio = contrast(colour, under[-1])
            if ratio < wanted:
                found.append(f"{ratio:.1f} {text.strip()[:40]!r} {colour} on {under[-1]}")
    return found


@pytest.mark.parametrize("path", PICTURES, ids=lambda path: path.stem)
def test_every_text_stands_out(path: Path) -> None:
    picture = path.read_text(encoding="utf-8")
    assert faint(picture) == [] and "<circle" not in picture
