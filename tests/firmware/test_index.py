"""The index input: positions are exact whatever the speed, and a chattering sensor does no harm."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from coilbench.board.link.frames import STOP_BYTE

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


def test_a_stop_right_after_an_edge_leaves_the_sensor_heard(host: Any) -> None:
    """An edge that a step has latched, and no further step: the next edge, by hand, counts as well."""
    pin = host.chip.pins["index"]
    host.chip.drive(pin, 0)
    host.ask("zero")
    for number, late in enumerate(range(3000, 64_000, 6000)):
        host.ask("outputs", on=1)
        host.ask("move", steps=500, start=250, run=250, gain=1)
        host.wait(20)
        host.chip.drive(pin, 1)
        host.chip.run(late)
        host.port.write(STOP_BYTE)
        assert host.answer().word == "stop"
        host.chip.drive(pin, 0)
        host.wait(1)
        assert host.ask("index").fields["count"] == 2 * number + 2, late


@pytest.mark.parametrize(("rate", "every_cycles", "late_cycles"), [(20_000, 80, 60), (100_000, 170, 70)])
def test_a_chattering_sensor_delays_no_step(host: Any, rate: int, every_cycles: int, late_cycles: int) -> None:
    """An edge every few microseconds all the while, at the highest rate too, where a step itself takes ten."""
    pin, step = host.chip.pins["index"], host.chip.pins["step"]
    host.ask("outputs", on=1)
    start = host.chip.cycle + 160_000
    for place in range(4_000_000 // every_cycles):
        host.chip.drive_at(start + every_cycles * place, pin, place & 1)
    steps = rate // 4
    host.ask("move", steps=steps, start=rate // 50, run=rate, gain=20 * rate)
    assert host.run_to_stop().fields == {"why": "end", "pos": steps, "left": 0}
    assert host.ask("index").fields["count"] > 1000 and host.chip.vector("index").longest <= 22
    rises = host.chip.rises(step)
    assert len(rises) == steps
    intervals = np.diff(rises)[steps // 2 : steps * 3 // 4]
    assert abs(intervals - 16_000_000 // rate).max() <= late_cycles
    edges = host.chip.edges(step)
    assert np.diff(edges["cycle"].astype(np.int64)).min() >= 40, "STEP high or low for less than 2.5 us"


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
