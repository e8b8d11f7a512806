"""Steps: exact counts and rates, pulse widths and jitter in cycles of 62.5 ns, with the protocol in use."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.firmware import measure, rig, toolchain

CYCLES_PER_SECOND = 16_000_000
SHORTEST_PULSE = 40  # 2.5 us
SHORTEST_SETUP = 80  # 5 us


def pulses(chip: Any) -> tuple[np.ndarray[Any, Any], np.ndarray[Any, Any]]:
    """Cycles at which STEP rose and fell."""
    edges = chip.edges(chip.pins["step"])
    rose = edges["cycle"][edges["level"] == 1].astype(np.int64)
    fell = edges["cycle"][edges["level"] == 0].astype(np.int64)
    return rose, fell[-len(rose) :]


@pytest.mark.parametrize("rate", [8000, 60_000, 100_000])
@pytest.mark.parametrize("load", ["beats", "full line", "full line, index edges"])
def test_rate_jitter_and_pulse(host: Any, rate: int, load: str) -> None:
    """The figures of the sketch's README."""
    index = "index" in load
    row = measure.measure_move(host, rate, index=index, busy_line="full" in load)
    steps = round(rate * 1.25)
    assert row.steps_made == steps and row.stop == {"why": "end", "pos": steps, "left": 0}
    nominal = CYCLES_PER_SECOND / rate
    assert row.cruise_interval == pytest.approx(nominal, abs=0.02)
    assert row.jitter <= (45 if index and rate > 60_000 else 20)
    assert row.high >= SHORTEST_PULSE and row.low >= SHORTEST_PULSE
    assert not any(row.counts[flaw] for flaw in ("bad", "long", "order", "again", "lost"))
    turns = steps // 200  # from half a turn's way on: one slot a turn
    assert row.index_edges == (2 * turns if index else 0)


@pytest.mark.parametrize("rate", [10, 37, 245, 1000, 8000, 60_000, 100_000])
def test_a_move_without_ramp_is_exact(host: Any, rate: int) -> None:
    steps = max(rate // 4, 8)
    host.ask("outputs", on=1)
    host.chip.forget_edges()
    host.ask("move", steps=steps, start=rate, run=rate, gain=1000)
    stop = host.run_to_stop()
    assert stop.fields == {"why": "end", "pos": steps, "left": 0}
    rose, fell = pulses(host.chip)
    assert len(rose) == steps
    nominal = CYCLES_PER_SECOND / rate
    # The mean is exact but for the lateness of the first and the last step.
    assert abs(rose[-1] - rose[0] - nominal * (steps - 1)) <= 40
    assert np.abs(np.diff(rose) - nominal).max() <= 25
    assert (fell - rose).min() >= SHORTEST_PULSE and (rose[1:] - fell[:-1]).min() >= SHORTEST_PULSE


@pytest.mark.parametrize(("high", "low"), [(30_000, 30_000), (30_000, 2500), (2500, 30_000), (10_000, 5000)])
def test_wide_pulses(host: Any, high: int, low: int) -> None:
    """As wide as asked, and at the rate the board then calls its highest."""
    answer = host.ask("pulse", high=high, low=low, setup=50_000).fields
    assert answer["high"] >= high and answer["low"] >= low
    rate = answer["highest"]
    assert rate <= 1_000_000_000 // (high + low)
    host.ask("outputs", on=1)
    host.chip.fit_shaft(200, 5)
    host.chip.forget_edges()
    host.ask("move", steps=rate // 2, start=rate // 20, run=rate, gain=4 * rate)
    assert host.run_to_stop().fields == {"why": "end", "pos": rate // 2, "left": 0}
    rose, fell = pulses(host.chip)
    assert len(rose) == rate // 2
    assert (fell - rose).min() * 62.5 >= high and (rose[1:] - fell[:-1]).min() * 62.5 >= low


def test_the_steepest_ramp(host: Any) -> None:
    host.ask("outputs", on=1)
    for start in (10, 20_000):
        host.chip.forget_edges()
        host.ask("move", steps=20_000, start=start, run=100_000, gain=9_999_999)
        assert host.run_to_stop().fields["why"] == "end"
        assert len(pulses(host.chip)[0]) == 20_000
        host.ask("zero")


@pytest.mark.parametrize(("start", "gain"), [(10, 9_999_999), (10, 20_000), (400, 4000), (1000, 1_000_000)])
def test_the_first_steps_follow_the_exact_curve(host: Any, start: int, gain: int) -> None:
    """Step n comes (sqrt(start^2 + 2 gain n) - start) / gain after the first; the last ones likewise."""
    host.ask("outputs", on=1)
    host.chip.forget_edges()
    host.ask("move", steps=400, start=start, run=100_000, gain=gain)
    host.run_to_stop(beat_ms=60)
    rose = pulses(host.chip)[0]
    n = np.arange(1, 100)
    exact = CYCLES_PER_SECOND * (np.sqrt(start**2 + 2 * gain * n) - start) / gain
    for times in (rose[1:100] - rose[0], rose[-1] - rose[-2:-101:-1]):
        assert np.abs(times / exact - 1)[:4].max() <= 0.005
        assert np.abs(times / exact - 1).max() <= 0.02


def test_what_is_told_of_a_motion_is_of_one_instant(host: Any) -> None:
    """Position and steps left add up, fast as it is, and the rate is that of the steps being made."""
    host.ask("outputs", on=1)
    host.chip.forget_edges()
    host.ask("move", steps=60_000, start=1000, run=80_000, gain=100_000)
    host.run_to_stop(beat_ms=37)
    rose = pulses(host.chip)[0]
    told = [event.fields for event in host.events if event.word == "progress"]
    assert len(told) >= 8
    for each in told:
        assert each["pos"] + each["left"] == 60_000
        around = rose[max(each["pos"] - 10, 0) : each["pos"] + 10]
        rate = CYCLES_PER_SECOND * (len(around) - 1) / (around[-1] - around[0])
        assert each["rate"] == pytest.approx(rate, rel=0.06)


def test_ramp_begins_and_ends_at_the_starting_rate(host: Any) -> None:
    host.ask("outputs", on=1)
    host.chip.forget_edges()
    host.ask("move", steps=3000, start=800, run=9000, gain=40_000)
    host.run_to_stop()
    intervals = np.diff(pulses(host.chip)[0])
    first = CYCLES_PER_SECOND * (np.sqrt(800**2 + 2 * 40_000) - 800) / 40_000
    assert intervals[0] == pytest.approx(first, abs=20)
    assert intervals[-1] == pytest.approx(20_000, rel=0.13)
    assert intervals.min() == pytest.approx(CYCLES_PER_SECOND / 9000, abs=20)
    # v^2 = v0^2 + 2 a s: after 500 steps sqrt(800^2 + 2 * 40000 * 500) = 6375 steps/s
    assert CYCLES_PER_SECOND / intervals[495:505].mean() == pytest.approx(6375, rel=0.01)


@pytest.mark.parametrize("setup", [5000, 50_000])
def test_trip_and_direction_setup(host: Any, setup: int) -> None:
    """Out and back; DIR stands still for the setup time before the first step and after the last."""
    host.ask("pulse", high=2500, low=2500, setup=setup)
    host.ask("outputs", on=1)
    host.chip.fit_shaft(200, 5)
    began_at = host.chip.shaft_position
    host.chip.forget_edges()
    host.ask("trip", steps=-777, start=40_000, run=40_000, gain=1000, rest=0, back=5000)
    assert host.run_to_stop().fields == {"why": "end", "pos": 0, "left": 0}
    assert host.chip.shaft_position == began_at
    rose, fell = pulses(host.chip)
    assert len(rose) == 2 * 777
    turns = host.chip.edges(host.chip.pins["dir"])["cycle"].astype(np.int64)
    assert len(turns) >= 1
    for turn in turns:
        assert np.abs(rose - turn).min() * 62.5 >= setup and np.abs(fell - turn).min() * 62.5 >= setup
    assert np.abs(np.diff(rose[777:]) - 3200).max() <= 25


@pytest.mark.parametrize(
    ("form", "patterns"),
    [
        ("wave", [1, 2, 4, 8]),
        ("full", [3, 6, 12, 9]),
        ("half", [1, 3, 2, 6, 4, 12, 8, 9]),
    ],
)
def test_coil_sequences(host: Any, form: str, patterns: list[int]) -> None:
    """Positive moves go through the patterns forwards, negative ones backwards, each at the step's cycle."""
    lines = host.chip.pins["coils"]

    def pattern() -> int:
        return sum(1 << place for place, pin in enumerate(lines) if host.chip.is_driven_high(pin))

    host.ask("drive", by="coils", form=form)
    host.ask("outputs", on=1)
    at = patterns.index(pattern())
    seen = []
    for steps in [1, 1, 1, 1, 1, -1, -1, 3, -8]:
        host.ask("move", steps=steps, start=1000, run=1000, gain=1000)
        host.run_to_stop(beat_ms=20)
        at = (at + steps) % len(patterns)
        seen.append(pattern() == patterns[at])
    assert all(seen)
    host.chip.forget_edges()
    host.ask("move", steps=400, start=2000, run=2000, gain=1000)
    host.run_to_stop()
    edges = host.chip.edges()
    coil_edges = np.isin(edges["watch"], [host.chip.watched[pin] for pin in lines])
    times = np.unique(edges["cycle"][coil_edges].astype(np.int64))
    times = times[np.diff(times, prepend=-1000) > 100]  # in full steps lines go on a little after others went off
    assert len(times) == 400 and np.abs(np.diff(times) - 8000).max() <= 60
    assert len(pulses(host.chip)[0]) == 0  # STEP stays down


@pytest.mark.parametrize("active", [1, 0])
def test_a_bridge_never_switches_over_in_one_instant(chip_name: str, active: int) -> None:
    """One end of a coil goes off 2.5 to 5 us before its other end goes on, in steps and from pattern to pattern."""
    with rig.open_simulated_board(chip_name, {"COIL_ACTIVE": active}) as port:
        host, chip = rig.Host(port), port.chip
        lines = [chip.watched[pin] for pin in chip.pins["coils"]]
        host.ask("drive", by="coils", form="full")
        host.ask("outputs", on=1)
        chip.forget_edges()
        host.ask("move", steps=300, start=1000, run=60_000, gain=999_999)
        host.run_to_stop(beat_ms=20)
        for pattern in (1, 4, 3, 12, 9, 6):
            host.ask("coil", pattern=pattern, ms=300)
            host.wait(2)
        off_at, swaps = dict.fromkeys(lines, -(10**9)), 0
        for edge in chip.edges():
            if edge["watch"] not in lines:
                continue
            if edge["level"] != active:
                off_at[edge["watch"]] = int(edge["cycle"])
                continue
            other = lines[(lines.index(edge["watch"]) + 2) % 4]
            assert int(edge["cycle"]) - off_at[other] >= 40
            swaps += int(edge["cycle"]) - off_at[other] <= 80
        assert swaps >= 305


@pytest.mark.parametrize("before", [-3, 3])
def test_patterns_go_forwards_whatever_moved_before(host: Any, before: int) -> None:
    """The way of the last move by the driver is no business of the coils."""
    host.ask("outputs", on=1)
    host.ask("move", steps=before, start=100, run=100, gain=100)
    host.run_to_stop(beat_ms=20)
    host.ask("outputs", on=0)
    host.ask("drive", by="coils", form="wave")
    host.ask("outputs", on=1)
    for place in (1, 2, 3):
        host.ask("move", steps=1, start=100, run=100, gain=100)
        host.run_to_stop(beat_ms=20)
        lit = [bool(host.chip.is_driven_high(pin)) for pin in host.chip.pins["coils"]]
        assert lit.index(True) == place and lit.count(True) == 1


def test_steps_by_coils_at_the_highest_rate(host: Any) -> None:
    """Under a full line and a chattering sensor."""
    host.ask("drive", by="coils", form="half")
    rate = host.ask("limits", of="rates").fields["highest"]
    assert rate == 60_000
    host.ask("outputs", on=1)
    start = host.chip.cycle + 16_000
    for place in range(6000):
        host.chip.drive_at(start + 1600 * place, host.chip.pins["index"], place & 1)
    host.chip.forget_edges()
    assert host.send(host.frame("move", steps=30_000, start=1200, run=rate, gain=4 * rate)).kind == "yes"
    while not any(event.word == "stop" for event in host.events):
        load = host.frame("beat")
        host.port.write(load + b"\n" * (118 - len(load)))
        host.answer()
        while host.chip.line_pending > 2:
            host.port.sleep(0.0002)
    assert host.event("stop").fields == {"why": "end", "pos": 30_000, "left": 0}
    edges = host.chip.edges()
    coil_edges = np.isin(edges["watch"], [host.chip.watched[pin] for pin in host.chip.pins["coils"]])
    assert len(edges[coil_edges]) == 30_000  # half steps: one line changes at each
    assert host.ask("counts").fields["lost"] == 0


def test_ease_stops_with_the_moves_own_gain(host: Any) -> None:
    host.ask("outputs", on=1)
    host.chip.forget_edges()
    host.ask("move", steps=500_000, start=1000, run=20_000, gain=100_000)
    host.wait(400)
    told_at = host.ask("ease").fields["pos"]
    stop = host.run_to_stop(beat_ms=50)
    assert stop.fields["why"] == "eased"
    made = stop.fields["pos"]
    assert made + stop.fields["left"] == 500_000 and made == len(pulses(host.chip)[0])
    ramp = (20_000**2 - 1000**2) / (2 * 100_000)
    assert ramp <= made - told_at <= ramp + 20_000 * 0.020  # at most 20 ms until it takes hold
    assert np.diff(pulses(host.chip)[0])[-1] == pytest.approx(16_000, rel=0.13)


def test_what_the_sketch_takes_of_the_chip(host: Any) -> None:
    """Flash, static RAM, and memory the stack never reached in a busy move."""
    chip = toolchain.CHIPS[host.chip.chip]
    size = toolchain.footprint(toolchain.sketch_elf(chip.name))
    # Of the smaller chip's 32 kB no more than 30 are used, a boot loader's 2 kB among them.
    assert size.flash <= (28_600 if chip.name == "atmega328p" else chip.flash_bytes) and size.ram <= 1300
    host.ask("outputs", on=1)
    host.chip.fit_shaft(200, 5)
    host.ask("trip", steps=20_000, start=1000, run=60_000, gain=300_000, rest=10, back=20_000)
    host.run_to_stop(beat_ms=20)
    host.ask("limits", of="times")
    first_free = (0x100 if chip.name == "atmega328p" else 0x200) + size.ram
    memory = [host.chip.memory(place) for place in range(first_free, first_free + 700)]
    untouched = next((place for place, byte in enumerate(memory) if byte), len(memory))
    assert untouched >= 400


@pytest.mark.long("sketch")
def test_a_step_in_ten_seconds(host: Any) -> None:
    """The slowest pace there is, by coils: on for half a second at each step."""
    chip, second = host.chip, host.chip.pins["coils"][1]
    host.ask("drive", by="coils", form="wave")
    host.ask("outputs", on=1)
    began = chip.cycle
    host.ask("pace", steps=2, each=10_000)
    for _ in range(35):
        host.wait(300)
        host.ask("beat")
    on, off = ((edge - began) / CYCLES_PER_SECOND for edge in chip.edges(second)["cycle"][:2])
    assert on == pytest.approx(10, abs=0.02) and off - on == pytest.approx(0.5, abs=0.01)
    assert host.ask("limits", of="coils").fields["standleft"] > 4400
