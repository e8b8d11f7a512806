"""How the screens look. The README's tour shows these very pictures."""

from __future__ import annotations

import pytest

from coilbench.stages.machine.work import MachineWork
from coilbench.ui.actions import ACTIONS
from tests.support.machines import add

NOT_YET = ("bin.all", "bin.undo")  # with nothing found, nothing done
BIN_KEYS = [action for action in ACTIONS if action.where == "bin" and action.show and action.id not in NOT_YET]


@pytest.fixture
def after(settle):
    """A run_before that presses keys, one after another's work is done."""

    def keys(*pressed: str):
        async def run(pilot) -> None:
            # The motors come from a thread and the footer's keys after them: the picture waits for all of them.
            for _ in range(200):
                await settle(pilot)
                table = pilot.app.screen.query_one("BinTable")
                if table.row_count and len(pilot.app.screen.query("FooterKey")) == len(BIN_KEYS):
                    break
            else:
                raise AssertionError("the bin never stood")
            pilot.app.screen.refresh(layout=True)
            await settle(pilot)
            await settle(pilot)
            for key in pressed:
                await pilot.press(key)
                await settle(pilot)
            assert pilot.app.return_code is None  # a bench that fell over makes no picture

        return run

    return keys


SMALL, LARGE = (80, 24), (120, 40)
OPEN_M02 = ("down", "enter")


def test_bin_small(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=SMALL, run_before=after())


def test_bin_large(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=LARGE, run_before=after())


def test_question_small(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=SMALL, run_before=after(*OPEN_M02, *"mmm"))


def test_question_large(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=LARGE, run_before=after(*OPEN_M02, *"mmm"))


def test_result_small(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=SMALL, run_before=after(*OPEN_M02, *"mmmmmmmmmm"))


def test_result_large(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=LARGE, run_before=after(*OPEN_M02, *"mmmmmmmmmm"))


def test_phase_order(snap_compare, demo_bench, after) -> None:
    keys = ("down", "down", "enter", *"mmmmmmmm", "f3", "m")
    assert snap_compare(demo_bench(), terminal_size=LARGE, run_before=after(*keys))


def test_help(snap_compare, demo_bench, after) -> None:
    assert snap_compare(demo_bench(), terminal_size=LARGE, run_before=after(*OPEN_M02, "f1"))


def test_light(snap_compare, demo_bench, after) -> None:
    app = demo_bench(theme="bench-light")
    assert snap_compare(app, terminal_size=SMALL, run_before=after(*OPEN_M02, *"mm"))


def test_without_colour(snap_compare, demo_bench, after, monkeypatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    assert snap_compare(demo_bench(), terminal_size=SMALL, run_before=after(*OPEN_M02, *"mm"))


def test_jog_search(snap_compare, demo_bench, after) -> None:
    # Answered by digits, so that the picture hangs on no virtual shaft.
    keys = ("enter", *["f3"] * 5, "f5", "f6", "1", "1", "g", "0", "0", "0", "1", "g", "0", "2", "g", "0")
    assert snap_compare(demo_bench(), terminal_size=SMALL, run_before=after(*keys))


def test_jog_wiring(snap_compare, demo_bench, after) -> None:
    keys = ("down", "down", "enter", *"mmmmmmmm", "f3", *"mmmm", *["f3"] * 4, "f5")
    assert snap_compare(demo_bench(), terminal_size=SMALL, run_before=after(*keys))


def test_machine(snap_compare, demo_bench, settle) -> None:
    app = demo_bench()

    async def run(pilot) -> None:
        for _ in range(200):
            await settle(pilot)
            if app.is_bin_open:
                break
        for number, ohm in enumerate((3.0, 3.1, 6.0, 8.5, 20.0), 20):  # invented
            add(app.bin, f"M-{number}", resistance_ohm=ohm)
        app.machine = MachineWork.example()
        await pilot.press("m")
        await settle(pilot)

    assert snap_compare(app, terminal_size=SMALL, run_before=run)
