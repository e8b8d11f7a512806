"""Cards and labels as one self-contained HTML document: no script, nothing fetched, made to be printed.

A card takes one page of A4 or Letter: the page's size is the printer's, and what is drawn keeps within both
(210 x 279 mm less the margins). Everything is black on white but the leads' own colours, which are named beside.
"""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.plain_text import shortened
from coilbench.stages.card.page import document, entry, svg_of
from coilbench.stages.card.page import in_html as _text
from coilbench.stages.card.state import MADE_BY, Card, Label, Section

_CARD_STYLE = """.card { width: 186mm; margin: 0 auto; break-after: page }
.card:last-child { break-after: auto }
@media screen { .card { padding: 8mm 0 } }
header { display: flex; justify-content: space-between; align-items: baseline; gap: 4mm;
  border-bottom: 0.6mm solid #000; padding-bottom: 1mm; margin-bottom: 2mm }
h1 { font-size: 18pt; line-height: 1.15 }
h1.long { font-size: 11pt }
header p { text-align: right; white-space: nowrap }
h2 { font-size: 1.1em; break-after: avoid; border-bottom: 0.2mm solid #000; margin-bottom: 0.8mm }
.warning { border: 0.8mm solid #000; padding: 1.2mm 2mm; margin-bottom: 2mm; font-weight: bold }
.drawn { display: flex; gap: 5mm; align-items: flex-start; margin-bottom: 3mm }
figure { margin: 0; flex: 0 0 113mm }
figcaption { font-weight: bold }
svg { display: block; width: 100%; height: auto; max-height: 84mm }
table { border-collapse: collapse; flex: 1; min-width: 0 }
th, td { text-align: left; border-bottom: 0.2mm solid #000; padding: 0.5mm 1.2mm 0.5mm 0; vertical-align: top }
th, td.fixed { white-space: nowrap }
td:first-child, td:last-child { min-width: 16mm }
.full { font-size: 7pt; line-height: 1.18 }
.full footer { font-size: 7pt }
.full section { margin-bottom: 1.5mm; break-inside: auto }
.full figure { flex-basis: 96mm }
.full .drawn { margin-bottom: 1.5mm }
.full dt { flex-basis: 17mm }
.sections { columns: 2; column-gap: 7mm }
section { break-inside: avoid; margin-bottom: 3mm }
dl div { display: flex; gap: 2mm; break-inside: avoid }
dt { flex: 0 0 21mm }
dd { flex: 1; min-width: 0; font-weight: bold }
dd.unknown { font-weight: normal; font-style: italic }
footer { border-top: 0.2mm solid #000; padding-top: 1mm; margin-top: 1mm; font-size: 8.5pt }
footer ul { list-style: none }"""
_LABEL_STYLE = """.sheet { display: flex; flex-wrap: wrap; width: 186mm; margin: 0 auto; align-content: flex-start }
.label { width: 62mm; height: 40mm; border: 0.2mm dashed #000; padding: 1.5mm 2mm; overflow: hidden;
  break-inside: avoid; font-size: 7.5pt; line-height: 1.2 }
.label h1 { font-size: 11pt; line-height: 1.1; white-space: nowrap; overflow: hidden; text-overflow: ellipsis }
.label p { overflow-wrap: anywhere }
.leads { columns: 2; column-gap: 2mm; border-top: 0.2mm solid #000; border-bottom: 0.2mm solid #000; margin: 0.5mm 0 }
.many { columns: 3 }
.leads span { display: block; white-space: nowrap; overflow: hidden; text-overflow: ellipsis }
.stop { font-weight: bold; border: 0.5mm solid #000; padding: 0.5mm }
.figure { font-weight: bold }"""
_STOP = 150  # characters of the reason that a label has room for
_FEW = 8  # leads that it has room for in two columns
_LONG_NAME, _LONG_LEAD, _LONG_GOES, _ON_LABEL = 28, 20, 24, 12  # characters
_FULL = 1500  # characters of figures beyond which a card is set smaller, to keep to its page


def cards_html(cards: Sequence[Card]) -> str:
    """A document of cards, a page each."""
    title = f"Card of {cards[0].motor}" if len(cards) == 1 else f"Cards of {len(cards)} motors"
    return document(title, _CARD_STYLE, [_card(card) for card in cards])


def labels_html(labels: Sequence[Label]) -> str:
    """A document of labels, 62 x 40 mm each, three in a row, to print on a sticker sheet and cut apart."""
    title = f"Label of {labels[0].motor}" if len(labels) == 1 else f"Labels of {len(labels)} motors"
    return document(title, _LABEL_STYLE, ['<main class="sheet">', *map(_label, labels), "</main>"])


def _card(card: Card) -> str:
    said = sum(len(each.says) for part in card.sections for each in part.entries)
    full = " full" if said > _FULL else ""
    long = ' class="long"' if len(card.motor) > _LONG_NAME else ""
    parts = [
        f'<article class="card{full}">\n<header><h1{long}>{_text(card.motor)}</h1>'
        f"<p>{_text(card.kind)}<br>{_text(card.day)}</p></header>",
        *(f'<p class="warning">! {_text(each)}</p>' for each in card.warnings),
        f'<div class="drawn">\n<figure><figcaption>{_text(card.drawn)}</figcaption>',
        svg_of(card.picture, f"Wiring of {card.motor}") + "</figure>",
        _lead_table(card),
        '</div>\n<div class="sections">',
        *map(_section, card.sections),
        "</div>",
        "<footer><ul>",
        *(f"<li>caution: {_text(each)}</li>" for each in card.cautions),
        f"<li>{_text(MADE_BY)}</li></ul></footer>\n</article>",
    ]
    return "\n".join(parts)


def _lead_table(card: Card) -> str:
    rows = [
        f'<tr><td>{_text(shortened(each.lead, _LONG_LEAD))}</td><td class="fixed">{_text(each.colour)}</td>'
        f'<td class="fixed">{_text(each.place or "?")}</td><td>{_text(shortened(each.goes, _LONG_GOES))}</td></tr>'
        for each in card.leads
    ]
    head = "<thead><tr><th>lead</th><th>colour</th><th>place</th><th>goes to</th></tr></thead>"
    return "\n".join(["<table>", head, "<tbody>", *rows, "</tbody></table>"])


def _section(part: Section) -> str:
    entries = "\n".join(map(entry, part.entries))
    return f"<section><h2>{_text(part.title)}</h2>\n<dl>\n{entries}\n</dl></section>"


def _label(label: Label) -> str:
    leads = "".join(
        f"<span><b>{_text(shortened(goes or '?', 2 * _ON_LABEL))}</b>&ensp;{_text(shortened(lead, _ON_LABEL))}</span>"
        for lead, goes in label.leads
    )
    parts = [
        f'<article class="label"><h1>{_text(label.motor)}</h1>',
        f'<p class="stop">! {_text(shortened(label.stop, _STOP))}</p>' if label.stop else "",
        f'<div class="leads{" many" if len(label.leads) > _FEW else ""}">{leads}</div>' if leads else "",
        *(f'<p class="figure">{_text(each)}</p>' for each in label.figures),
        f"<p>{_text(label.kind)}, {_text(label.day)}</p></article>",
    ]
    return "\n".join(filter(None, parts))
