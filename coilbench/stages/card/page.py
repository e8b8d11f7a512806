"""A self-contained HTML document made to be printed: no script, nothing fetched; what people typed is text in it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from coilbench.plain_text import inert
from coilbench.stages.card.state import MADE_BY, Entry
from coilbench.stages.picture import Picture

_HEAD = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="generator" content="{made_by}">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width">
<title>{title}</title>
<style>
@page {{ margin: 8mm 12mm }}
* {{ box-sizing: border-box }}
body {{ margin: 0; background: #fff; color: #000; font: 9.5pt/1.3 "DejaVu Sans", Arial, Helvetica, sans-serif }}
h1, h2, p, ul, table, dl, dd {{ margin: 0; padding: 0 }}
h1, h2, p, th, td, dd, li, span {{ unicode-bidi: isolate; overflow-wrap: anywhere }}
{style}
</style>
</head>
<body>
"""


def document(title: str, style: str, parts: Sequence[str]) -> str:
    """A whole document with this style, of parts that are markup already."""
    head = _HEAD.format(made_by=escape(MADE_BY), title=in_html(title), style=style)
    return head + "\n".join(parts) + "\n</body>\n</html>\n"


def svg_of(picture: Picture | None, title: str) -> str:
    """The drawing as an element of the page: its texts are escaped by the one who draws it."""
    if picture is None:
        return ""
    svg = picture.svg(title)
    return svg[svg.index("<svg") :]


def entry(each: Entry) -> str:
    """A row of a list of figures."""
    unknown = "" if each.known else ' class="unknown"'
    return f"<div><dt>{in_html(each.name)}</dt><dd{unknown}>{in_html(each.says)}</dd></div>"


def in_html(text: str) -> str:
    """A text as it stands in a document: never markup, no control or bidi character."""
    return escape(inert(text))
