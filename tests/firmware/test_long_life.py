"""What shows only after weeks: the millisecond clock's wrap, positions far out, EEPROM cells that wear."""

from __future__ import annotations

from typing import Any

import pytest

from tests.firmware import rig, toolchain

CELLS = 64
FURTHEST = 999_999_999


def put(host: Any, name: str, value: int) -> None:
    """Set one of the sketch's 32-bit variables."""
    host.chip.set_memory(toolchain.variables(host.chip.elf)[name], value, 4)


@pytest.mark.parametrize("before_ms", [50, 300, 600, 950])
def test_the_clock_wraps_after_49_days(host: Any, before_ms: int) -> None:
    """In a move, while it is eased for want of beats, in the idle time: nothing ends early or late."""
    for name in ("milliseconds", "since_ms", "alive_ms", "budget_ms", "progress_ms"):
        put(host, name, 2**32 - before_ms)
    host.ask("idle", ms=200)
    host.ask("outputs", on=1)
    host.ask("move", steps=100_000, start=500, run=1000, gain=10_000)
    began = host.port.monotonic()
    stop = host.event("stop", 2.0)
    assert stop.fields["why"] == "beat" and 0.5 <= host.port.monotonic() - began <= 0.62
    host.event("off")
    host.ask("outputs", on=1)
    began = host.port.monotonic()
    assert host.event("off").fields["why"] == "idle"
    assert 0.19 <= host.port.monotonic() - began <= 0.22
    host.ask("outputs", on=1)
    host.ask("trip", steps=50, start=500, run=500, gain=1000, rest=100, back=500)
    assert host.run_to_stop(beat_ms=40).fields["why"] == "end"


@pytest.mark.parametrize("sign", [1, -1])
def test_positions_stay_within_nine_digits(host: Any, sign: int) -> None:
    """A move that would go further is refused with what would do, and pos is told to the last digit."""
    host.ask("outputs", on=1)
    host.chip.set_memory(toolchain.variables(host.chip.elf)["records"] + 4, sign * (FURTHEST - 30), 4)
    move = {"start": 1000, "run": 1000, "gain": 1000}
    for verb, more in (("move", {}), ("trip", {"rest": 0, "back": 1000})):
        refused = host.refused(verb, steps=sign * 31, **move, **more)
        assert refused.word == "range"
        limits = {"low": -9_999_999, "high": 30} if sign > 0 else {"low": -30, "high": 9_999_999}
        assert refused.fields == {"at": "steps", **limits}
    host.ask("trip", steps=sign * 30, **move, rest=150, back=1000)
    progress = host.event("progress").fields
    assert progress["pos"] == sign * FURTHEST and progress["state"] == "resting"
    assert host.run_to_stop(beat_ms=40).fields["pos"] == sign * (FURTHEST - 30)
    host.ask("move", steps=sign * 30, **move)
    assert host.run_to_stop(beat_ms=40).fields["pos"] == sign * FURTHEST
    assert host.refused("move", steps=sign, **move).word == "range"
    host.ask("zero")
    host.ask("move", steps=sign * 31, **move)
    assert host.run_to_stop(beat_ms=40).fields["pos"] == sign * 31


def test_resets_spread_over_the_cells(chip_name: str) -> None:
    """Each reset writes one cell in turn; the first number is another one each time, through a cell's wrap, too."""
    chip = rig.new_chip(chip_name)
    before = [255] * CELLS
    written = [0] * CELLS
    numbers = []
    for _ in range(2 * CELLS + 3):
        chip.reset()
        chip.run_ms(25)
        cells = [chip.eeprom(place) for place in range(CELLS)]
        changed = [place for place in range(CELLS) if cells[place] != before[place]]
        assert len(changed) == 1
        written[changed[0]] += 1
        before = cells
        numbers.append(chip.line_read().split(b"next=")[1].split()[0])
    assert max(written) <= 3 and len(set(numbers)) == len(numbers)
    chip.close()
