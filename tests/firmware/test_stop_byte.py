"""One byte stops: as it comes in, whatever came before it, in any state, within a millisecond."""

from __future__ import annotations

from typing import Any

import pytest

from coilbench.board.link.frames import STOP_BYTE

CYCLES_PER_MS = 16_000
CYCLES_PER_BYTE = 1360
FAST = {"steps": 1_000_000, "start": 1000, "run": 100_000, "gain": 400_000}


def stops(host: Any, before: bytes = b"", pause_cycles: int = 0) -> None:
    """Say ``before`` and the stop byte: a millisecond after that byte's end all is off, and stays off."""
    chip = host.chip
    host.port.write(before)
    if pause_cycles:
        chip.run(len(before) * CYCLES_PER_BYTE + pause_cycles)
        before = b""
    came_at = chip.cycle + (len(before) + 1) * CYCLES_PER_BYTE
    host.port.write(STOP_BYTE)
    chip.run(came_at - chip.cycle + CYCLES_PER_MS)
    assert chip.outputs_off
    chip.forget_edges()
    chip.run_ms(30)
    assert chip.outputs_off and not any(edge["watch"] != chip.watched[chip.pins["dir"]] for edge in chip.edges())


def stop_answer(host: Any) -> Any:
    """The answer to it; other answers may come before."""
    while (answer := host.answer()).word != "stop":
        pass
    return answer


def test_it_is_heeded_within_a_half_line(host: Any) -> None:
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    host.wait(100)
    stops(host, b"ask 17 be")
    answer = stop_answer(host)
    assert (answer.kind, answer.number) == ("yes", 0)
    stop = host.event("stop").fields
    assert stop["why"] == "stopped" and stop["pos"] == answer.fields["pos"]
    host.ask("beat")  # what was left of the line is gone: no line end is needed first


def test_it_is_heeded_behind_whatever_is_queued(host: Any) -> None:
    """Frames and a flood of lines, more than is answered in the time; none of what was received before it is run."""
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    host.wait(100)
    queued = b"".join(host.frame("limits", of="coils") for _ in range(6)) + b"report\n" * 20
    stops(host, queued)
    stop_answer(host)
    host.wait(50)
    host.chip.line_read()
    host.events.clear()
    host.next = host.send(b"report\n").fields["next"]
    queued = host.frame("outputs", on=1) + host.frame("move", **FAST)
    host.port.write(b"report\n" * 30)
    host.port.write(queued)
    host.port.write(STOP_BYTE)
    host.chip.run_ms(100)
    assert host.chip.outputs_off
    host.chip.run_ms(100)
    assert host.chip.outputs_off


@pytest.mark.parametrize("state", ["idle", "coil", "moving", "resting", "returning", "easing"])
def test_it_is_heeded_in_any_state(host: Any, state: str) -> None:
    if state == "coil":
        host.ask("drive", by="coils")
        host.ask("coil", pattern=3, ms=500)
    else:
        host.ask("outputs", on=1)
    if state in ("moving", "easing"):
        host.ask("move", steps=10_000, start=100, run=4000, gain=4000)
        host.wait(300)
    if state == "easing":
        host.ask("ease")
    if state in ("resting", "returning"):
        host.ask("trip", steps=20, start=1000, run=1000, gain=1000, rest=400 * (state == "resting"), back=20)
        host.wait(100)
    assert host.ask("beat").fields["state"] == state
    stops(host)
    stop_answer(host)


@pytest.mark.parametrize("late", range(0, 64_000, 8000))
def test_it_is_heeded_while_a_move_is_begun(host: Any, late: int) -> None:
    """In the milliseconds in which the frame is read, the move planned and the answer made."""
    host.ask("outputs", on=1)
    stops(host, host.frame("trip", **FAST, rest=10, back=90_000), pause_cycles=late)


def test_it_is_heeded_while_readings_are_taken(host: Any) -> None:
    host.ask("drive", by="coils")
    for place in range(8):
        host.ask("coil", pattern=3, ms=500)
        frame = host.frame("supply") if place % 2 else host.frame("read", channel=0)
        stops(host, frame, pause_cycles=1 + 2000 * place)
        host.chip.line_read()
        host.next = host.send(b"\nreport\n").fields["next"]


@pytest.mark.parametrize("line", [b"STOP\n", b"stop \n", b"  Stop\r\n"])
def test_stop_is_understood_as_a_person_types_it(host: Any, line: bytes) -> None:
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    answer = host.send(line)
    assert (answer.kind, answer.word) == ("yes", "stop")
    assert host.chip.outputs_off
