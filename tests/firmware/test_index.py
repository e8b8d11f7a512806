"""The index input: positions are exact whatever the speed, and a chattering sensor does no harm."""

from __future__ import annotations

from typing import Any

import pytest

TURN, SLOT = 200, 5


def crossings(steps: int) -> tuple[int, int, int]:
    """Edges in a move from half a turn off the slot; the last fall and rise, in the board's count."""
    count = fall = rise = 0
    level = False
    step = 1 if steps > 0 else -1
    for position in range(step, steps + step, step):
        now = (position + TURN // 2) % TURN < SLOT
        if now != level:
            level, count = now, count + 1
            if now:
                rise = position
            else:
                fall = position
    return count, fall, rise


@pytest.mark.parametrize("rate", [30, 2000, 30_000, 100_000])
@pytest.mark.parametrize("way", [1, -1])
def test_positions_are_latched_exactly(host: Any, rate: int, way: int) -> None:
    steps = way * (150 if rate < 100 else 4321)
    host.chip.fit_shaft(TURN, SLOT)
    host.ask("zero")
    host.ask("outputs", on=1)
    host.ask("move", steps=steps, start=min(rate, 1000), run=rate, gain=200_000)
    assert host.run_to_stop().fields["pos"] == steps
    host.wait(20)
    count, fall, rise = crossings(steps)
    index = host.ask("index").fields
    assert (index["count"], index["fall"], index["rise"]) == (count, fall, rise)
    last = [event for event in host.events if event.word == "edge"][-1]
    assert last.fields == {"level": index["level"], "pos": rise if index["level"] else fall, "count": count}


def test_edges_by_hand(host: Any) -> None:
    """At rest, with outputs off: the person turns the shaft."""
    pin = host.chip.pins["index"]
    host.chip.drive(pin, 0)
    host.wait(20)
    host.ask("zero")
    host.events.clear()
    for level in (1, 0, 1):
        host.chip.drive(pin, level)
        host.wait(20)
        assert host.event("edge").fields["level"] == level
    assert host.ask("index").fields == {"level": 1, "count": 3, "fall": 0, "rise": 0}


def test_a_chattering_sensor_delays_no_step(host: Any) -> None:
    """An edge every 5 us for a second: at most one is taken a step."""
    pin = host.chip.pins["index"]
    host.ask("outputs", on=1)
    start = host.chip.cycle + 160_000
    for place in range(100_000):
        host.chip.drive_at(start + 80 * place, pin, place & 1)
    host.ask("move", steps=20_000, start=20_000, run=20_000, gain=1000)
    assert host.run_to_stop().fields == {"why": "end", "pos": 20_000, "left": 0}
    rises = host.chip.rises(host.chip.pins["step"])
    assert len(rises) == 20_000
    intervals = rises[1:] - rises[:-1]
    assert abs(intervals - 800).max() <= 60
    assert host.chip.vector("index").longest <= 22


def test_an_edge_before_zero_belongs_to_the_count_before(host: Any) -> None:
    pin = host.chip.pins["index"]
    host.ask("outputs", on=1)
    host.ask("move", steps=70, start=1000, run=1000, gain=1000)
    host.run_to_stop(beat_ms=40)
    level = host.ask("index").fields["level"]
    # The edge comes with the line end of the frame: seen, but not yet told.
    for late in range(-4000, 4000, 200):
        host.chip.drive(pin, level)
        host.wait(5)
        host.ask("zero")
        host.ask("move", steps=3, start=1000, run=1000, gain=1000)
        host.run_to_stop(beat_ms=10)
        zero = host.frame("zero")
        level = 1 - level
        host.chip.drive_at(host.chip.cycle + len(zero) * 1360 + late, pin, level)
        assert host.send(zero).kind == "yes"
        index = host.ask("index").fields
        assert index["level"] == level and index["fall"] == index["rise"] == 0, late
