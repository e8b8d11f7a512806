"""A machine's sheet as one self-contained HTML document, to print on A4 or Letter.

The first page has the whole machine in a table; then comes a block an axis, which no page's end cuts in two. All is
black on white but the leads' own colours, which are named beside.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from coilbench.plain_text import shortened
from coilbench.stages.card.page import document, entry, svg_of
from coilbench.stages.card.page import in_html as _text
from coilbench.stages.card.state import MADE_BY
from coilbench.stages.machine.sheet import HEADS, LEAD_HEADS, SUPPLY_HEADS, AxisPart, Sheet, WiredMotor

_STYLE = """article { width: 186mm; margin: 0 auto }
@media screen { article { padding: 8mm 0 } }
body { font-size: 8.5pt; line-height: 1.25 }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 4mm;
  border-bottom: 0.6mm solid #000; padding-bottom: 1mm; margin-bottom: 2mm }
h1 { font-size: 18pt; line-height: 1.15 }
h1.long { font-size: 11pt }
header p { text-align: right; white-space: nowrap }
h2 { font-size: 1.25em; border-bottom: 0.4mm solid #000; margin-bottom: 1mm }
.verdict { font-weight: bold; margin-bottom: 2mm }
.warning { border: 0.6mm solid #000; padding: 0.8mm 2mm; margin-bottom: 1mm; font-weight: bold }
table { border-collapse: collapse; width: 100%; margin-bottom: 2.5mm }
th, td { text-align: left; border-bottom: 0.2mm solid #000; padding: 0.4mm 1.5mm 0.4mm 0; vertical-align: top }
tr { break-inside: avoid }
section { break-inside: avoid; margin-bottom: 3mm }
.axis { display: flex; gap: 5mm; align-items: flex-start }
dl { flex: 0 0 82mm; min-width: 0 }
dl div { display: flex; gap: 2mm }
dt { flex: 0 0 21mm }
dd { flex: 1; min-width: 0; font-weight: bold }
dd.unknown { font-weight: normal; font-style: italic }
.motors { flex: 1; min-width: 0 }
figure { margin: 0 0 2mm 0 }
figcaption { font-weight: bold }
svg { display: block; width: 100%; height: auto; max-height: 60mm }
.motors table { font-size: 7.5pt; line-height: 1.2 }
ul { list-style: none; font-size: 8pt; margin-bottom: 3mm }
footer { border-top: 0.2mm solid #000; padding-top: 1mm }"""
_LONG_NAME, _LONG_LEAD, _LONG_GOES = 40, 20, 24  # characters


def sheet_html(sheet: Sheet) -> str:
    """The document."""
    long = ' class="long"' if len(sheet.machine) > _LONG_NAME else ""
    parts = [
        f"<article>\n<header><h1{long}>{_text(shortened(sheet.machine, 2 * _LONG_NAME))}</h1>"
        f"<p>{_text(sheet.day)}</p></header>",
        f'<p class="verdict">{_text(sheet.verdict)}</p>',
        *_table(HEADS, [each.row for each in sheet.axes]),
        *(_table(SUPPLY_HEADS, sheet.supplies) if sheet.supplies else ()),
        *_list(f"caution: {each}" for each in sheet.cautions),
        *map(_axis, sheet.axes),
        *_list(f"- {each}" for each in sheet.findings),
        f"<footer><p>{_text(MADE_BY)}</p></footer>\n</article>",
    ]
    return document(f"Machine: {shortened(sheet.machine, 2 * _LONG_NAME)}", _STYLE, parts)


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> Iterator[str]:
    yield "<table><thead><tr>" + "".join(f"<th>{_text(each)}</th>" for each in heads) + "</tr></thead><tbody>"
    for row in rows:
        yield "<tr>" + "".join(f"<td>{_text(each)}</td>" for each in row) + "</tr>"
    yield "</tbody></table>"


def _list(lines: Iterable[str]) -> Iterator[str]:
    yield "<ul>"
    yield from (f"<li>{_text(each)}</li>" for each in lines)
    yield "</ul>"


def _axis(axis: AxisPart) -> str:
    parts = [
        f"<section><h2>{_text(axis.name)}: {_text(axis.kind)}</h2>",
        *(f'<p class="warning">! {_text(each)}</p>' for each in axis.warnings),
        '<div class="axis"><dl>',
        *map(entry, axis.entries),
        '</dl><div class="motors">',
        *(line for each in axis.motors for line in _motor(each)),
        "</div></div></section>",
    ]
    return "\n".join(parts)


def _motor(each: WiredMotor) -> Iterator[str]:
    caption = f"{shortened(each.motor, _LONG_NAME)}, {each.drawn}"
    yield f"<figure><figcaption>{_text(caption)}</figcaption>"
    yield svg_of(each.picture, f"Wiring of {each.motor}") + "</figure>"
    leads = [
        (shortened(lead.lead, _LONG_LEAD), lead.colour, lead.place or "?", shortened(lead.goes, _LONG_GOES))
        for lead in each.leads
    ]
    yield from _table(LEAD_HEADS, leads)
