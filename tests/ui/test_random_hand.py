"""A hand that does anything at any time: keys, clicks, double clicks, pastes and sizes over every stage.

Nothing may crash, freeze, or come out of a handler unforeseen (``scratch_home`` looks into the log of faults).
"""

from __future__ import annotations

import asyncio
import random
from collections.abc import Iterator

import pytest
from textual import events
from textual.geometry import Size
from textual.pilot import Pilot

from coilbench.stages.table import STAGES
from coilbench.ui.actions import ACTIONS
from coilbench.ui.app import BenchApp
from coilbench.ui.screens.sheet import BenchSheet

from .screen import standing

KEYS = [
    *sorted({key for action in ACTIONS for key in action.keys.split(",")}),
    *"0123456789.,-aeqrxzR?[] ", "tab", "tab", "shift+tab", "up", "down", "left", "right", "home", "end", "pageup",
    "pagedown", "backspace", "delete", "enter", "enter", "escape", "ctrl+c", "ctrl+a", "ctrl+end",
]  # fmt: skip
NAMED = {".": "full_stop", ",": "comma", "-": "minus", "?": "question_mark", "[": "left_square_bracket"}
PASTES = (
    "12.3", "OL", "RD BU WH BK", "0,8\u202fA", "[red]x[/]", "\x1b]52;c;cm0=\x07", "a\u202eb", "1e308", "-1", "R100",
    "x" * 5000, "line\nother\r\nthird", "\x00", "日本", "", "4k7", "DRV8825", "virtual://bench?flywheel=3",
)  # fmt: skip
AT_A_PLACE = 100  # events, then another stage
MOTORS = 4  # that are visited
LEAVES = ("ctrl+q",)  # tested by itself


def key(rng: random.Random) -> list[events.Event]:
    name = rng.choice([each for each in KEYS if each not in LEAVES])
    return [events.Key(NAMED.get(name, "space" if name == " " else name), name if len(name) == 1 else None)]


def click(rng: random.Random, size: Size) -> list[events.Event]:
    """One to three clicks at one place."""
    x, y = rng.randrange(max(size.width, 1)), rng.randrange(max(size.height, 1))
    at = {"x": x, "y": y, "delta_x": 0, "delta_y": 0, "button": 1, "shift": False, "meta": False, "ctrl": False}
    kinds = (events.MouseMove, *(events.MouseDown, events.MouseUp) * rng.choice((1, 1, 2, 3)))
    return [kind(None, **at, screen_x=x, screen_y=y) for kind in kinds]  # type: ignore[arg-type]


def size(rng: random.Random, app: BenchApp) -> list[events.Event]:
    """One new size, or three in a row with a key between them."""
    happen: list[events.Event] = []
    for _ in range(rng.choice((1, 1, 3))):
        new = Size(rng.randint(10, 140), rng.randint(4, 50))
        happen += [events.Resize(new, new), events.Key("tab", None)]
    return happen


def happening(rng: random.Random, app: BenchApp) -> list[events.Event]:
    """What the hand does next."""
    kind = rng.random()
    if kind < 0.62:
        return key(rng)
    if kind < 0.88:
        return click(rng, app.size)
    if kind < 0.95:
        return [events.Paste(rng.choice(PASTES))]
    return size(rng, app)


def places(rng: random.Random) -> Iterator[tuple[int, str]]:
    """A motor's place in the bin and a stage, without end: each stage as often as the others."""
    while True:
        for spec in rng.sample(STAGES, len(STAGES)):
            yield rng.randrange(MOTORS), spec.id


async def to_a_stage(app: BenchApp, place: int, stage_id: str) -> None:
    """Whatever stands on the screen goes, the bin stays, and a stage is opened over it."""
    while len(app.screen_stack) > 1:
        await app.pop_screen()
    motors = app.bin.motors()
    await app.push_screen(BenchSheet(motors[place % len(motors)].name, stage_id=stage_id))


async def come_to_rest(pilot: Pilot[int]) -> None:
    """Wait until what was done has come to something, or the bench was left by it: then nothing answers any more."""
    resting, ended = asyncio.create_task(pilot.pause(0)), pilot.app._task
    await asyncio.wait([resting, *([ended] if ended else [])], return_when=asyncio.FIRST_COMPLETED)
    if resting.done():
        resting.result()
    resting.cancel()


@pytest.mark.parametrize(
    ("seed", "count"),
    [(1, 1000), *(pytest.param(seed, 1000, marks=pytest.mark.long("hostile")) for seed in range(2, 22))],
)
async def test_a_random_hand_brings_nothing_down(
    demo_bench, settle, no_freeze, tmp_path, monkeypatch, seed, count
) -> None:
    monkeypatch.chdir(tmp_path)  # where what it writes without a folder goes
    rng, done = random.Random(seed), 0
    ahead = places(rng)
    while done < count:
        app = demo_bench()
        async with standing(app, settle, size=(80, 24)) as pilot:
            while done < count and app.is_running:
                if done % AT_A_PLACE == 0:
                    await pilot.pause()
                    if app.return_value is not None:  # it was quit
                        break
                    no_freeze()
                    await to_a_stage(app, *next(ahead))
                for event in happening(rng, app):
                    if isinstance(event, events.Resize):
                        app._driver._size = event.size  # type: ignore[union-attr]
                    app.post_message(event)
                done += 1
                if rng.random() < 0.3:  # else at once, before the last one has come to anything
                    await come_to_rest(pilot)
        assert app.return_value in (None, 0), app.return_value
        (tmp_path / "demo.bin").unlink()
