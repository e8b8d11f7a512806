"""Measures a move in CPU cycles; run as a program it prints the table of sketches/bench_helper/README.md."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

CYCLES_PER_SECOND = 16_000_000
STEPS_PER_TURN, SLOT_STEPS = 200, 5


@dataclass(frozen=True)
class Measurement:
    """One move; everything in cycles of 62.5 ns unless named otherwise."""

    steps_made: int
    stop: dict[str, Any]
    cruise_interval: float  # mean
    jitter: int  # largest deviation of an interval at cruise
    high: int  # shortest
    low: int  # shortest
    interrupt_mean: float
    interrupt_longest: int
    index_edges: int  # as the board counted them
    counts: dict[str, Any]  # of the line, the board's own


def measure_move(host: Any, rate: int, *, index: bool, busy_line: bool, seconds: float = 1.0) -> Measurement:
    """A move with a ramp of a quarter second up to ``rate`` steps/s and about ``seconds`` of cruise.

    ``index``: a slot of 5 in 200 steps on the index input, two edges a turn. ``busy_line``: bytes to the board
    back to back all the time, a beat every 10 ms among them; otherwise a beat every 150 ms as a host sends it.
    """
    chip, port = host.chip, host.port
    if index:
        chip.fit_shaft(STEPS_PER_TURN, SLOT_STEPS)
    host.ask("outputs", on=1)
    host.ask("zero")
    chip.forget_edges()
    chip.forget_vectors()
    gain = 4 * rate
    line = host.frame("move", steps=round(rate * (seconds + 0.25)), start=rate // 50, run=rate, gain=gain)
    assert host.send(line).kind == "yes"
    if busy_line:
        while not any(event.word == "stop" for event in host.events):
            load = host.frame("beat")
            load += b"\n" * (118 - len(load))
            port.write(load)
            host.answer()
            while chip.line_pending > 2:
                port.sleep(0.0002)
        stop = host.event("stop")
    else:
        stop = host.run_to_stop()
    compare = chip.vector("compare")
    edges = chip.edges(chip.pins["step"])
    rose = edges["cycle"][edges["level"] == 1].astype(np.int64)
    fell = edges["cycle"][edges["level"] == 0].astype(np.int64)[-len(rose) :]
    intervals = np.diff(rose)
    cruise = intervals[len(intervals) * 2 // 5 : len(intervals) * 3 // 5]
    return Measurement(
        steps_made=len(rose),
        stop=dict(stop.fields),
        cruise_interval=float(cruise.mean()),
        jitter=int(np.abs(cruise - CYCLES_PER_SECOND / rate).max() + 0.5),
        high=int((fell - rose).min()),
        low=int((rose[1:] - fell[:-1]).min()),
        interrupt_mean=compare.mean,
        interrupt_longest=compare.longest,
        index_edges=int(host.ask("index").fields["count"]),
        counts=dict(host.ask("counts").fields),
    )


def print_table() -> None:
    """The README's table."""
    sys.path.insert(0, str(Path(__file__).parents[2]))
    from tests.firmware import rig, toolchain

    print("| chip | steps/s | index edges | line | jitter | shortest high, low | step interrupt mean, longest |")
    print("|---|---|---|---|---|---|---|")
    for chip in rig.CHIPS[:2]:  # the third is the second's elder
        for rate in (1000, 8000, 20_000, 60_000, 100_000):
            for index, busy_line in ((False, False), (False, True), (True, True)):
                with rig.open_simulated_board(chip) as port:
                    row = measure_move(rig.Host(port), rate, index=index, busy_line=busy_line)
                print(
                    f"| {chip} | {rate} | {row.index_edges} | {'full' if busy_line else 'beats'} "
                    f"| ±{row.jitter} | {row.high}, {row.low} | {row.interrupt_mean:.0f}, {row.interrupt_longest} |"
                )
    for chip in rig.CHIPS:
        size = toolchain.footprint(toolchain.sketch_elf(chip))
        print(f"{chip}: flash {size.flash} bytes, static RAM {size.ram} bytes")


if __name__ == "__main__":
    print_table()
