"""Outputs are off from the first instruction and whenever in doubt; nothing outlives its time."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest

from tests.firmware import rig, toolchain

CYCLES_PER_MS = 16_000
FAST = {"steps": 1_000_000, "start": 1000, "run": 20_000, "gain": 100_000}


def last_step(chip: Any) -> int:
    """Cycle of the last rise of STEP."""
    return int(chip.rises(chip.pins["step"])[-1])


def test_outputs_are_off_from_the_first_instruction(chip_name: str) -> None:
    chip = rig.new_chip(chip_name)
    for _ in range(4000):
        chip.run(5)
        assert chip.outputs_off
    chip.run_ms(200)
    assert chip.is_driven_high(chip.pins["enable"]) is True
    assert [chip.is_driven_high(pin) for pin in chip.pins["coils"]] == [False] * 4
    assert chip.is_driven_high(chip.pins["step"]) is False
    # Not one edge on a line that could move a motor; ENABLE alone rises to its inactive level.
    assert {int(edge["watch"]) for edge in chip.edges()} <= {chip.watched[chip.pins["enable"]]}
    chip.close()


def test_hello_comes_within_200_ms_and_counts_on(host: Any) -> None:
    assert host.hello.fields["why"] == "power" and host.hello.number == 1
    numbers = {host.hello.fields["next"]}
    for _ in range(5):
        host.chip.reset()
        started = host.port.monotonic()
        hello = host.event("hello")
        assert host.port.monotonic() - started < 0.2
        numbers.add(hello.fields["next"])
    assert len(numbers) == 6


def test_a_reset_in_motion(host: Any) -> None:
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    host.wait(200)
    host.chip.reset()
    at = host.chip.cycle
    host.chip.run(200)
    assert host.chip.outputs_off
    host.chip.run_ms(300)
    assert host.chip.outputs_off and last_step(host.chip) <= at


def test_a_silent_host_stops_the_motion(host: Any) -> None:
    """Killed, unplugged or hung: at 20,000 steps/s motion ends within 0.6 s and outputs are off."""
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    spoke_at = host.chip.cycle
    host.wait(650)
    assert host.chip.outputs_off
    assert last_step(host.chip) - spoke_at <= 600 * CYCLES_PER_MS
    stop = host.event("stop")
    assert stop.fields["why"] == "beat"
    assert stop.fields["pos"] == len(host.chip.rises(host.chip.pins["step"]))
    assert host.event("off").fields["why"] == "beat"


def test_a_silent_host_eases_what_can_stop_soon(host: Any) -> None:
    host.ask("outputs", on=1)
    host.ask("move", steps=100_000, start=500, run=4000, gain=60_000)
    host.wait(650)
    intervals = np.diff(host.chip.rises(host.chip.pins["step"]))
    assert intervals[-1] == pytest.approx(32_000, rel=0.13)  # slowed down to 500 steps/s
    assert host.chip.outputs_off


def test_noise_is_no_sign_of_life(host: Any) -> None:
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    spoke_at = host.chip.cycle
    for _ in range(60):
        host.port.write(b"ask 1 beat ~AAAA\nreport\n")
        host.port.sleep(0.01)
    assert host.chip.outputs_off
    assert last_step(host.chip) - spoke_at <= 600 * CYCLES_PER_MS


@pytest.mark.parametrize("moving", [False, True])
def test_the_watchdog(host: Any, moving: bool) -> None:
    """A stuck program: the chip resets itself, outputs go off, the board says why."""
    host.ask("outputs", on=1)
    if moving:
        host.ask("move", **FAST)
        host.wait(100)
    host.chip.hang()
    host.chip.run_ms(400)
    assert host.chip.watchdog_resets >= 1
    assert host.chip.outputs_off
    host.chip.mend()
    assert host.event("hello").fields["why"] == "watchdog"
    assert host.event("fault").fields["what"] == "watchdog"


def test_stop_is_immediate(host: Any) -> None:
    host.ask("outputs", on=1)
    host.ask("move", **FAST)
    host.wait(300)
    host.port.write(b"stop\n")
    sent_at = host.chip.cycle
    host.answer()
    host.wait(100)
    assert host.chip.outputs_off
    # five characters on the line take 0.43 ms
    assert last_step(host.chip) - sent_at <= 3 * CYCLES_PER_MS


def test_coil_lines_are_limited_in_time(host: Any) -> None:
    coils = host.chip.pins["coils"]
    host.ask("drive", by="coils")
    host.ask("coil", pattern=6, ms=50)
    assert [host.chip.is_driven_high(pin) for pin in coils] == [False, True, True, False]
    on_at = host.chip.cycle
    host.event("off")
    off_at = max(int(edge["cycle"]) for edge in host.chip.edges(coils[1]))
    assert off_at - on_at <= 52 * CYCLES_PER_MS
    # One pattern may follow another without a gap: the shaft follows.
    for pattern in (1, 2, 4, 8):
        host.ask("coil", pattern=pattern, ms=500)
        assert [host.chip.is_driven_high(pin) for pin in coils] == [bool(pattern >> k & 1) for k in range(4)]
    host.event("off")
    for pattern in (5, 10, 7, 15):
        assert host.refused("coil", pattern=pattern, ms=1).fields == {"at": "pattern"}
    on_ms, start = 0, host.port.monotonic()
    while host.port.monotonic() - start < 14:
        answer = host.send(host.frame("coil", pattern=1, ms=1000))
        if answer.kind == "yes":
            on_ms += 1000
            host.event("off", 2.0)
        else:
            assert answer.word == "duty"
            host.wait(answer.fields["wait"])
    assert on_ms <= 5000 + 14_000 / 2 + 1000  # of standing, and half the time at most after it


def left_of_the_budget(host: Any) -> tuple[int, int]:
    """Milliseconds left of standing, and of being on."""
    left = host.ask("limits", of="coils").fields
    return left["standleft"], left["onleft"]


def set_left(chip: Any, stand_ms: int, on_ms: int) -> None:
    """As if the rest had been used up: as CoilBudget keeps it, with its check."""
    at = toolchain.variables(chip.elf)["budget"]
    values = (stand_ms, on_ms, 0, 0x5A5A ^ stand_ms ^ 3 * on_ms & 0xFFFF)
    while abs(chip.memory(at + 2) + 256 * chip.memory(at + 3) - on_ms) > 5:  # the sketch may just have been at it
        for place, value in enumerate(values):
            chip.set_memory(at + 2 * place, value, 2)
        chip.run_ms(2)


def test_a_motion_ends_when_coil_lines_were_on_for_long_enough(host: Any) -> None:
    """Slow steps, one after the other: each coil is off at times, and the motor gets hot all the same."""
    host.ask("drive", by="coils", form="full")
    set_left(host.chip, 5000, 60_000)
    host.ask("outputs", on=1)
    host.ask("move", steps=9_999_999, start=12, run=12, gain=1)
    assert left_of_the_budget(host)[1] == pytest.approx(60_000, abs=50)
    set_left(host.chip, 5000, 700)
    at = host.chip.cycle
    stop = host.run_to_stop(limit_s=2.0)
    assert stop.fields["why"] == "duty" and host.event("off").fields["why"] == "duty"
    assert host.chip.outputs_off
    assert max(int(edge["cycle"]) for edge in host.chip.edges()) - at == pytest.approx(700 * CYCLES_PER_MS, rel=0.03)


def test_no_reset_gives_the_coil_budget_back(host: Any) -> None:
    """Button, stuck program, or asked for: as much is left as before. After the supply was off, a third of it."""

    def greet() -> None:
        host.events.clear()
        host.next = host.event("hello").fields["next"]
        host.ask("hello", protocol=1)

    set_left(host.chip, 900, 1300)
    host.chip.reset()
    greet()
    stand, on = left_of_the_budget(host)
    assert stand == pytest.approx(900, abs=60) and on == pytest.approx(1300, abs=20)
    host.chip.hang()
    host.chip.run_ms(300)
    host.chip.mend()
    greet()
    assert left_of_the_budget(host)[1] == pytest.approx(1310, abs=60)
    host.ask("reset")
    greet()
    assert left_of_the_budget(host)[1] == pytest.approx(1310, abs=60)
    set_left(host.chip, 900, 1300)
    host.chip.set_memory(toolchain.variables(host.chip.elf)["budget"] + 6, 0, 2)  # memory that held nothing
    host.chip.reset()
    greet()
    assert left_of_the_budget(host)[1] == pytest.approx(20_000, abs=20)


@pytest.mark.long("sketch")
def test_coil_lines_are_limited_whichever_verb_put_them_on(host: Any) -> None:
    """A host that asks and asks, for half a minute: none stands above 5 s, nor is any on for more than is left."""
    rng = random.Random(9)
    coils = [host.chip.watched[pin] for pin in host.chip.pins["coils"]]
    host.ask("drive", by="coils", form="half")
    host.chip.forget_edges()
    began_at = host.chip.cycle
    asked: list[tuple[str, dict[str, int]]] = [
        ("outputs", {"on": 1}),
        ("move", {"steps": 1, "start": 10, "run": 10, "gain": 1}),
        ("move", {"steps": -3, "start": 20, "run": 20, "gain": 1}),
        ("trip", {"steps": 5, "start": 30, "run": 30, "gain": 1, "rest": 1500, "back": 30}),
        ("coil", {"pattern": 3, "ms": 2000}),
    ]
    while host.chip.cycle - began_at < 30_000 * CYCLES_PER_MS:
        verb, fields = rng.choice(asked)
        host.send(host.frame(verb, **fields))
        host.wait(rng.choice([1, 30, 150, 400]))
        host.events.clear()
    edges = [edge for edge in host.chip.edges() if int(edge["watch"]) in coils]
    on: set[int] = set()
    standing = longest = 0
    unbroken, lit_at = 0, began_at
    for edge in edges:
        if on:
            unbroken += int(edge["cycle"]) - lit_at
            longest = max(longest, unbroken)
            standing += int(edge["cycle"]) - lit_at
        lit_at = int(edge["cycle"])
        on = on | {int(edge["watch"])} if edge["level"] else on - {int(edge["watch"])}
        if not on:
            unbroken = 0
    assert longest <= 5050 * CYCLES_PER_MS
    most_ms = 20_000 + (30_000 - standing / CYCLES_PER_MS) / 3
    assert 8000 * CYCLES_PER_MS <= standing <= (most_ms + 100) * CYCLES_PER_MS


def test_holding_current_drops(host: Any) -> None:
    host.ask("idle", ms=300)
    host.ask("outputs", on=1)
    host.wait(280)
    assert not host.chip.outputs_off
    assert host.event("off").fields["why"] == "idle"
    assert host.chip.outputs_off
    host.ask("idle", ms=60_000)
    host.ask("drive", by="coils")
    host.ask("outputs", on=1)
    host.wait(1950)
    assert not host.chip.outputs_off
    host.wait(100)
    assert host.chip.outputs_off


def test_the_pins_are_those_of_the_wiring(host: Any) -> None:
    """What the board reports, the configuration page and the pins that really move are the same."""
    board_pins = {
        "atmega328p": {5: "D5", 6: "D6", 7: "D7", 2: "D2", 8: "B0", 9: "B1", 10: "B2", 11: "B3"},
        "atmega2560": {5: "E3", 6: "H3", 7: "H4", 2: "E4", 22: "A0", 23: "A1", 24: "A2", 25: "A3"},
    }[host.chip.chip]
    driver = host.ask("pins", of="driver").fields
    for name in ("step", "dir", "enable"):
        assert board_pins[driver[name]] == host.chip.pins[name]
    coils = host.ask("pins", of="coils").fields
    assert tuple(board_pins[coils[name]] for name in "abcd") == host.chip.pins["coils"]
    sense = host.ask("pins", of="sense").fields
    assert board_pins[sense["index"]] == host.chip.pins["index"]
    assert (driver["active"], coils["active"]) == (0, 1)
    assert 13 not in {*driver.values(), *coils.values(), *sense.values()}


def test_analogue_inputs_and_supply(host: Any) -> None:
    for channel in range(host.ask("pins", of="sense").fields["channels"]):
        host.chip.analog(channel, 300 * channel + 100)
    for supply in (5000, 4600):
        host.chip.supply(supply)
        assert host.ask("supply").fields["mv"] == pytest.approx(supply, rel=0.01)
        for channel in range(host.ask("pins", of="sense").fields["channels"]):
            read = host.ask("read", channel=channel).fields
            assert read["mv"] == pytest.approx(min(300 * channel + 100, supply), abs=30)
    host.chip.analog(1, 410)
    for against, full in (("supply", 4600), ("bandgap", 1100)):
        read = host.ask("read", channel=1, samples=64, against=against).fields
        assert read["raw"] == pytest.approx(64 * 1024 * 410 / full, rel=0.005)
        assert read["mv"] == pytest.approx(410, abs=3) and read["supply"] == pytest.approx(4600, rel=0.01)
    host.ask("beat")
    assert host.ask("supply").fields["mv"] == pytest.approx(4600, rel=0.01)  # the other reference is left behind


@pytest.mark.parametrize("moving", [True, False])
def test_a_supply_that_sags_switches_off(host: Any, moving: bool) -> None:
    """In motion, too: within 5 ms of it; nothing goes on below 4.5 V, and all is as before above."""
    host.ask("outputs", on=1)
    if moving:
        host.ask("move", **FAST)
        host.wait(200)
    host.chip.supply(4400)
    at = host.chip.cycle
    host.chip.run_ms(5)
    assert host.chip.outputs_off and (not moving or last_step(host.chip) - at <= 5 * CYCLES_PER_MS)
    if moving:
        assert host.event("stop").fields["why"] == "supply"
    assert host.event("off").fields["why"] == "supply"
    refused = host.refused("outputs", on=1)
    assert refused.word == "supply" and refused.fields["mv"] == pytest.approx(4400, rel=0.01)
    host.ask("drive", by="coils")
    assert host.refused("coil", pattern=1, ms=10).word == "supply"
    host.chip.supply(4600)
    host.wait(5)
    host.ask("coil", pattern=1, ms=10)


def test_the_longest_trip_can_be_told(host: Any) -> None:
    """Two million seconds: the answer stays within nine digits, and the trip can be stopped."""
    host.ask("outputs", on=1)
    answer = host.ask("trip", steps=9_999_999, start=10, run=10, gain=1, rest=60_000, back=10)
    assert answer.fields["ms"] == 999_999_999
    host.wait(350)
    stopped = host.ask("stop").fields["pos"]
    stop = host.event("stop").fields
    assert stop["left"] == 2 * 9_999_999 - stopped and stop["pos"] == stopped == 3
