"""A machine's sheet on plain lines and as Markdown."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from coilbench.plain_text import in_markdown, inert
from coilbench.stages.card.markdown import PICTURE_WIDTH, fenced, table
from coilbench.stages.card.state import MADE_BY
from coilbench.stages.card.text import finished, hung
from coilbench.stages.machine.sheet import HEADS, LEAD_HEADS, SUPPLY_HEADS, AxisPart, Sheet, WiredMotor
from coilbench.winding.drawing.figures import cell_width, wrapped


def sheet_text(sheet: Sheet, width: int, *, ascii: bool = False) -> str:
    """The sheet in lines of at most ``width`` columns but for its tables, ending with a line end."""
    lines = [*wrapped(inert(sheet.machine), width, ""), f"{sheet.day}, {MADE_BY}", ""]
    lines += [*wrapped(inert(sheet.verdict), width, ""), "", *_columns(HEADS, [each.row for each in sheet.axes])]
    if sheet.supplies:
        lines += ["", *_columns(SUPPLY_HEADS, sheet.supplies)]
    for axis in sheet.axes:
        lines += ["", *_axis(axis, width, ascii)]
    lines += ["", *(line for each in sheet.findings for line in wrapped(f"- {inert(each)}", width))]
    lines += [line for each in sheet.cautions for line in wrapped(f"caution: {inert(each)}", width)]
    return finished(lines, ascii=ascii)


def _axis(axis: AxisPart, width: int, ascii: bool) -> Iterator[str]:
    yield f"{inert(axis.name)}: {axis.kind}"
    for warning in axis.warnings:
        yield from wrapped(f"! {inert(warning)}", width)
    room = max(cell_width(each.name) for each in axis.entries)
    for each in axis.entries:
        yield from hung(each.name, each.says, room, width)
    for motor in axis.motors:
        yield ""
        yield f"{inert(motor.motor)}, {inert(motor.drawn)}"
        if motor.picture is not None:
            yield from motor.picture.text(width, ascii=ascii, listed=False).rstrip("\n").splitlines()
        yield from _columns(LEAD_HEADS, _leads(motor))


def _leads(motor: WiredMotor) -> list[tuple[str, ...]]:
    return [(each.lead, each.colour, each.place or "not known", each.goes) for each in motor.leads]


def _columns(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table whose columns are as wide as their content, two spaces apart."""
    cells = [[inert(each) for each in row] for row in (heads, *rows)]
    widths = [max(cell_width(row[column]) for row in cells) for column in range(len(heads))]
    return [
        "  ".join(each + " " * (width - cell_width(each)) for each, width in zip(row, widths, strict=True)).rstrip()
        for row in cells
    ]


def sheet_markdown(sheet: Sheet) -> str:
    """The sheet as one Markdown document: what people typed is text in it, never markup."""
    lines = [f"<!-- {MADE_BY} -->", f"# {in_markdown(sheet.machine)}", "", sheet.day, ""]
    lines += [f"**{in_markdown(sheet.verdict)}**", "", *table(HEADS, [each.row for each in sheet.axes]), ""]
    if sheet.supplies:
        lines += [*table(SUPPLY_HEADS, sheet.supplies), ""]
    for axis in sheet.axes:
        lines += [f"## {in_markdown(axis.name)}: {axis.kind}", ""]
        for warning in axis.warnings:
            lines += [f"> **Warning:** {in_markdown(warning)}", ""]
        lines += [*table(("", ""), [(each.name, each.says) for each in axis.entries]), ""]
        for motor in axis.motors:
            lines += [f"### {in_markdown(motor.motor)}, {in_markdown(motor.drawn)}", ""]
            if motor.picture is not None:
                lines += [*fenced(motor.picture.text(PICTURE_WIDTH, listed=False)), ""]
            lines += [*table(LEAD_HEADS, _leads(motor)), ""]
    lines += [f"- {in_markdown(each)}" for each in sheet.findings]
    lines += [f"- **caution:** {in_markdown(each)}" for each in sheet.cautions]
    return "\n".join(lines).rstrip("\n") + "\n"
