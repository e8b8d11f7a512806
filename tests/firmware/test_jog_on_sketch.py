"""The bench's jog and nudge on the compiled sketch, in virtual time: by driver with a sensor, and by coil lines."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from coilbench.board.client.client import Helper
from coilbench.board.link.link import BeginLog, Link
from coilbench.board.link.replug import PortMark
from coilbench.board.session.drive import Drive
from coilbench.board.session.jog import JogSession
from coilbench.board.session.nudge import NudgeSession
from coilbench.board.session.session import OpenHelper
from coilbench.motion.trials import Shaft, Trial

PATTERNS = {"wave": [1, 2, 4, 8], "full": [3, 6, 12, 9], "half": [1, 3, 2, 6, 4, 12, 8, 9]}  # PROTOCOL.md, section 3


@pytest.fixture
def port(simulated_board: Callable[[str], Any]) -> Any:
    """A simulated board."""
    return simulated_board("atmega328p")


def opener(port: Any) -> OpenHelper:
    """What opens ``port`` for a session, whatever it asks for."""

    def open_helper(url: str, log: BeginLog | None, was: PortMark | None) -> Helper:
        helper = Helper(Link(port, url))
        helper.greet()
        return helper

    return open_helper


def no_progress(state: str, rate_sps: float) -> None:
    """Nobody looks."""


def patterns_of(chip: Any) -> list[int]:
    """The patterns the coil lines went through, all-off left out; lines change one after another within a step."""
    bits = {chip.watched[pin]: 1 << place for place, pin in enumerate(chip.pins["coils"])}
    level, seen, last_cycle = 0, [0], -1
    for edge in chip.edges():
        bit = bits.get(int(edge["watch"]))
        if bit is None:
            continue
        level = level | bit if edge["level"] else level & ~bit
        if int(edge["cycle"]) - last_cycle < 200:
            seen[-1] = level
        else:
            seen.append(level)
        last_cycle = int(edge["cycle"])
    return [pattern for pattern in seen if pattern]


@pytest.mark.parametrize(("entered", "microsteps"), [(200, 1), (100, 8)])
def test_the_sensor_counts_what_the_shaft_has(port: Any, entered: int, microsteps: int) -> None:
    port.chip.fit_shaft(200 * microsteps, 5 * microsteps)
    session = JogSession("any", Drive(microsteps=microsteps), Shaft(entered, sensor=True), opener=opener(port))
    session.open()
    session.ready()
    turn = session.turn(no_progress)
    assert turn.counted is not None and turn.counted.usual == 200
    assert turn.counted.steps_per_turn == pytest.approx(200, abs=0.2)
    assert bool(turn.miscounted(session.shaft)) == (entered != 200)
    if entered == 200:
        session.ready()
        end = session.trial(Trial("start", 800, 300, 800, 800, 5000, 100, 0.3), no_progress)
        assert end.complete and end.outcome is not None and end.outcome.kind == "returned"
    session.close()


@pytest.mark.parametrize("form", ["wave", "full", "half"])
def test_coil_lines_go_round_and_go_off(port: Any, form: str) -> None:
    session = JogSession("any", Drive("array", form=form), Shaft(48), opener=opener(port))  # type: ignore[arg-type]
    board = session.open()
    assert board.pins["coils"] == {"a": 8, "b": 9, "c": 10, "d": 11, "active": 1}
    port.chip.forget_edges()
    session.ready()
    turn = session.turn(no_progress)
    assert turn.complete
    seen = patterns_of(port.chip)
    steps = 48 * session.drive.pulses
    expected = [PATTERNS[form][step % len(PATTERNS[form])] for step in range(steps + 1)]
    assert seen == expected
    for _ in range(3):  # time after time: the board's budget of standing patterns is kept, and nothing is refused
        session.ready()
        assert session.trial(Trial("start", 150, 72, 150, 150, 5000, 100, 0.3), no_progress).complete
    session.stop()
    port.sleep(0.1)
    assert port.chip.outputs_off
    session.close()


def test_a_nudge_goes_from_line_to_line_and_leaves_nothing_on(port: Any) -> None:
    session = NudgeSession("any", opener=opener(port))
    session.open()
    for first, then in ((0, 1), (3, 1), (2, 0), (1, 2)):
        port.chip.forget_edges()
        session.ready()
        assert session.nudge(first, then, no_progress).complete
        beside = [1 << first | 1 << (first + 1) % 4, 1 << first | 1 << (first - 1) % 4]
        assert patterns_of(port.chip)[-4:] == [*beside, 1 << first, 1 << then]
        port.sleep(0.3)
        assert port.chip.outputs_off
    session.close()


def test_a_stop_between_the_lines_holds(port: Any) -> None:
    session = NudgeSession("any", opener=opener(port))
    session.open()
    session.ready()
    end = session.nudge(0, 1, lambda state, rate: session.stop() if state == "nudging" else None)
    assert not end.complete
    port.sleep(0.1)
    assert port.chip.outputs_off and 2 not in patterns_of(port.chip)
    session.close()
