"""A newcomer's run at 80x24: from a sorted, set-up motor to working rates, doing only what the screen says."""

from __future__ import annotations

import re

import pytest

from coilbench.motion.search_order import RANGES
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.desk import Desk
from coilbench.ui.screens.bin import BinScreen
from tests.support.more import some

MOTOR = "M-01"

# What a person reads on the screen, and the key it names. The first that is there is done.
SAYS = (
    (r"let the shaft answer \((\w)\)", None),
    (r"go: next move \((\w)\)", None),
    (r"(\d) start-stop \(pull-in\) rate$", None),  # not found yet: found ones have their figure beside them
    (r"(\d) slew \(pull-out\) rate$", None),
    (r"(\d) highest acceleration$", "all found"),
    (r"another search \((\w)\)", None),
    (r"one slow turn \((F\d)\)", None),
    (r"connect \((F\d)\)", None),
)


def told_key(screen: str) -> str | None:
    """The key that the screen names for what comes next; None when both searches are done."""
    for words, end in SAYS:
        for line in screen.splitlines():
            if found := re.search(words, line.strip()):
                return None if end else found.group(1).lower()
    raise AssertionError(screen)


@pytest.mark.long("more")
async def test_from_a_set_up_motor_to_working_rates(demo_bench, settle, jog_pilot, monkeypatch) -> None:
    monkeypatch.setitem(RANGES, "start", (950.0, 1350.0))  # saves moves
    monkeypatch.setitem(RANGES, "run", (2200.0, 3200.0))
    monkeypatch.setattr("coilbench.motion.search_order.CAREFUL_SPS", 100.0)  # saves time
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        await settle(pilot)
        rated = Ratings(current_ampere=0.8, low_ampere=0.8, high_ampere=2.0, step_angle_degree=1.8)
        Desk(app.bin, MOTOR).keep("ratings", rated)
        pane = await jog_pilot.jog_stage(pilot, settle)
        assert pane.form.texts["turn"] == "200"
        keys: list[str] = []
        for _ in range(150):
            screen = jog_pilot.shown(app)
            if pane.stage.stand not in ("board", "wire"):
                assert "STOP" in screen  # always in reach
            if pane.stage.stand == "search" and pane.stage.scene.told:
                assert "moves" in screen and ("held" in screen or "lost" in screen)
            if pane.stage.scene.choose:  # however long the words above it are
                assert "another search (n)" in screen
            key = told_key(screen)
            if key is None:
                break
            keys.append(key)
            await jog_pilot.press(pilot, settle, key)
        assert keys[:3] == ["f5", "f6", "m"]
        figures = pane.stage.figures
        assert 500 < figures.start_rate_sps < figures.run_rate_sps == figures.working_rate_sps < 6000
        await jog_pilot.press(pilot, settle, "escape")
        assert isinstance(app.screen, BinScreen)


@pytest.mark.parametrize(
    ("size", "colourless"), some([((80, 24), True), ((120, 40), False)], of=(((80, 24), True),), rows=True)
)
async def test_all_that_a_search_shows_is_there(demo_bench, settle, jog_pilot, monkeypatch, size, colourless) -> None:
    if colourless:
        monkeypatch.setenv("NO_COLOR", "1")
    app = demo_bench()
    async with app.run_test(size=size) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        await jog_pilot.press(pilot, settle, "f5", "f6", "m", "1", "g")
        for _ in range(20):
            told = {outcome.skipped for trial, outcome in pane.stage.search.answers if trial.question != "back"}
            if pane.stage.search.asked is not None and told == {True, False}:
                break
            await jog_pilot.press(pilot, settle, "g" if pane.stage.pause else "m")
        screen = jog_pilot.shown(app)
        assert pane.stage.search.asked is not None and len(pane.stage.search.answers) >= 2
        assert "did the flag come back" in screen  # the present question
        assert all(f" {digit} {words}" in screen for digit, words in ((0, "back on its mark"), (5, "can't tell")))
        assert "✓ held" in screen and "✗ lost steps" in screen  # the ladder
        assert f"▸{pane.stage.search.asked.tested:>7.0f}" in screen
        for rate in [trial.tested for trial, _ in pane.stage.search.answers if trial.question != "back"]:
            assert f" {rate:.0f} " in screen
        assert "100 ┫" in screen and " 50 ┫" in screen and "% lost against steps/s" in screen  # the curve
        assert "turns/s" in screen and app.screen.query_one("#head-figure").region.height == 3  # the figure, large
        assert re.search(r"moves \d+, about \d+ to go, \d+ min", screen)  # time left
        stop = pane.query_one("#jog-stop")
        assert stop.region.height and stop.region.bottom <= size[1] and "■ STOP  (space)" in screen


async def test_a_whole_trial_with_the_mouse_alone_by_eye(demo_bench, settle, jog_pilot) -> None:
    app = demo_bench()
    async with app.run_test(size=(80, 24)) as pilot:
        pane = await jog_pilot.jog_stage(pilot, settle)
        for button in ("connect", "turn", "answer-1", "answer-1", "go", "answer-0", "answer-2", "go", "answer-5"):
            await pilot.click(f"#jog-{button}")
            await settle(pilot)
        told = [outcome.kind for _, outcome in pane.stage.search.answers]
        assert told == ["returned", "off", "unclear"]
