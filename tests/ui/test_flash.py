"""Where no answer comes, the sketch is a button away: named, told, asked once, written, greeted."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from functools import partial
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from textual.pilot import Pilot
from textual.widgets import Button, Static

from coilbench.board.flash.avrdude import Avrdude
from coilbench.board.flash.boards import boards, image_for
from coilbench.board.flash.flashing import Flashing
from coilbench.board.link.faults import no_answer
from coilbench.ui.dialogs.flash import FlashDialog

Settle = Callable[[Pilot[int]], Awaitable[None]]

SCRIPT = """#!/bin/sh
case "$*" in *flash:w:*) echo '25270 bytes of flash verified';; *) echo 'device signature = 0x1e950f';; esac
"""


async def test_from_no_answer_to_a_sketch_that_answers(
    own_bench: Callable[..., Any], settle: Settle, tmp_path: Path
) -> None:
    script = tmp_path / "avrdude"
    script.write_text(SCRIPT)
    script.chmod(0o755)
    answers = [10000, image_for(boards()[0]).sketch]  # before, and after

    def greet(port: str) -> Any:
        return SimpleNamespace(sketch=answers.pop(0))

    make = partial(
        Flashing,
        chip="ATmega328P",
        list_ports=list,
        greet=greet,
        probe=lambda *of: True,
        avrdude=Avrdude(str(script)),
    )
    app = own_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        app.show_problem(no_answer("virtual://bench"))
        await pilot.pause()
        assert not app.screen.query("#act"), "a virtual board is never written"
        await pilot.press("escape")
        app.show_problem(no_answer("/dev/ttyACM0"))
        await pilot.pause()
        await pilot.click("#act")
        await settle(pilot)
        assert isinstance(app.screen, FlashDialog)
        await pilot.press("escape")
        told: list[bool | None] = []
        app.push_screen(FlashDialog("/dev/ttyACM0", make), told.append)
        await settle(pilot)
        said = str(app.screen.query_one("#flash-said", Static).render())
        assert "on it now: helper sketch 1.0.0; it will be overwritten" in said and "motor supply off" in said
        assert app.focused is app.screen.query_one("#flash-close", Button), "the harmless answer has the focus"
        await pilot.click("#flash-write")
        await settle(pilot)
        assert "read back the same" in str(app.screen.query_one("#flash-said", Static).render())
        await pilot.press("escape")
        assert told == [True]
