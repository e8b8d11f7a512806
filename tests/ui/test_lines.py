"""What goes to the terminal: without colour nothing breaks, and no text from outside drives it."""

from __future__ import annotations

from rich.cells import cell_len
from rich.segment import Segment
from textual.color import Color
from textual.events import Paste
from textual.filter import Monochrome
from textual.widgets import Input, Static
from textual_plot import PlotWidget

from coilbench.plain_text import is_plain
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.ui.facts import in_columns
from coilbench.ui.lines import Colourless, Inert, fit_for_terminal

from .screen import add_motor, open_stage, standing

CLIPBOARD = "\x1b]52;c;cm0gLXJmIH4=\x07"
TURNED = "a\u202eb"


def test_a_segment_without_a_style_is_let_through() -> None:
    assert [segment.text for segment in Colourless().apply([Segment("")], Color(0, 0, 0))] == [""]


def test_it_stands_for_the_filter_of_the_library() -> None:
    assert [type(each) for each in fit_for_terminal([Monochrome()])] == [Inert, Colourless]


def test_what_would_drive_the_terminal_is_taken_out_and_nothing_shifts() -> None:
    hostile = [Segment(f"a{CLIPBOARD}b"), Segment(f"{TURNED}\u00a0c\ud800"), Segment("日本 ✓")]
    drawn = Inert().apply(hostile, Color(0, 0, 0))
    assert "".join(each.text for each in drawn).isprintable()
    assert [each.text[0] for each in drawn] == ["a", "a", "日"]
    assert [cell_len(each.text) for each in drawn] == [cell_len(each.text) for each in hostile]


async def test_a_plot_is_drawn(demo_bench, settle, monkeypatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        plot = PlotWidget()
        await app.screen.mount(Static("plot"), plot)
        await settle(pilot)
        plot.plot([0.0, 1.0], [0.0, 1.0])
        await settle(pilot)
        assert plot.is_attached


async def test_what_an_import_holds_never_drives_the_terminal(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        coil = Coil(name=CLIPBOARD, ends=("RD", "BU"), ohms=2.0)
        fault = WindingFault(kind=CLIPBOARD, leads=("RD",))
        windings = Windings(arrangement=f"bipolar-4{CLIPBOARD}", confidence=1.0, coils=(coil,), faults=(fault,))
        add_motor(app, "RD BU", Intake(label=CLIPBOARD + TURNED, frame=CLIPBOARD), windings)
        app.screen.reload()
        await settle(pilot)
        for stage in (None, "intake", "windings", "ratings", "driver"):
            if stage is not None:
                await open_stage(pilot, settle, "M-20", stage)
            # As Textual draws it: what it has to say to the terminal itself is no segment's text.
            for strip in app.screen._compositor.render_strips():
                assert all(is_plain(segment.text) for segment in strip if not segment.control), strip


async def test_what_is_pasted_is_kept_plain(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(120, 40)) as pilot:
        add_motor(app, "RD BU")
        await open_stage(pilot, settle, "M-20", "intake")
        label = app.screen.query_one("#intake-label", Input)
        label.focus()
        label.post_message(Paste(f"12\u202fV{CLIPBOARD}\r\n{TURNED}" + "x" * 5000))
        await settle(pilot)
        assert label.value.startswith("12 V]52;c;cm0gLXJmIH4= abxxx") and len(label.value) < 1100
        label.value = TURNED  # however it came there
        await pilot.press("enter")
        await settle(pilot)
        assert app.bin.known("M-20").get(Intake).label == "ab"


def test_what_is_known_stands_in_two_columns() -> None:
    known = [("frame size", "NEMA 17"), ("label", "1.8\x1b[31m"), ("", "alone")]
    assert in_columns(known) == ["frame size NEMA 17", "label      1.8\\x1b[31m", "alone"]
