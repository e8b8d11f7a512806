"""Leads on clips, on the compiled sketch and a circuit of winding, jig and pins (harness/jig.h)."""

from __future__ import annotations

import math
import random
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest

from coilbench.board.link.frames import STOP_BYTE
from coilbench.board.session.clips import ClipFault, ClipSession
from coilbench.board.virtual.windings import Windings
from coilbench.winding.engine.catalogue import CATALOGUE
from coilbench.winding.engine.sorting import judge
from coilbench.winding.engine.verdict import Verdict
from coilbench.winding.order.judging import judge_order, order_question
from coilbench.winding.order.types import OrderTest
from coilbench.winding.readings.clips import ClipMap
from coilbench.winding.readings.inductance import NotTimed, Timed
from tests.firmware import rig
from tests.firmware.jig import CLIP_PINS, Circuit, OnClips, circuit_of
from tests.firmware.test_jog_on_sketch import no_progress, opener

# How often each is met in the tests; common practice has the first four.
KINDS = {
    "bipolar-4": 24,
    "unipolar-6": 24,
    "split-8": 20,
    "unipolar-5": 16,
    "three-phase-star-4": 4,
    "five-phase-ring-5": 4,
    "five-phase-star-5": 4,
    "three-phase-6": 4,
}
MOST_AMPERE = 0.020  # a pin's, by the board's makers; the chip's own limit is twice that
LONGEST_S = 0.1


def hidden(rng: random.Random, kind: str | None = None) -> tuple[Windings, tuple[str, ...]]:
    """A sound motor of 2 to 200 ohm, and its leads in the order in which they hang on the clips."""
    kind = kind or rng.choices(list(KINDS), list(KINDS.values()))[0]
    leads = tuple(f"L{k}" for k in range(CATALOGUE[kind].terminals))
    windings = Windings(kind, leads, math.exp(rng.uniform(math.log(2), math.log(200))))
    return windings, tuple(rng.sample(leads, len(leads)))


@contextmanager
def session_on(motor: OnClips, chip: str = "atmega2560") -> Iterator[tuple[ClipSession, Any]]:
    """An open session with the motor on the board's clips, and the board's port."""
    with rig.open_simulated_board(chip) as port:
        motor.fit(port.chip)
        session = ClipSession("any", opener=opener(port))
        session.open()
        session.ready()
        yield session, port
        session.close()


def measured(motor: OnClips, chip: str = "atmega2560", *, timed: bool = False) -> tuple[ClipMap, float]:
    """What the board says of it, and how long its ohms took, seconds of its time; pins and pairs within their bounds.

    With its inductances where it is to be ``timed``.
    """
    with session_on(motor, chip) as (session, port):
        began_s = port.monotonic()
        found = session.measure(motor.names, no_progress)
        took_s = port.monotonic() - began_s
        assert found is not None
        found = session.watch_rises(motor.names, found) if timed else found
        assert circuit_of(port.chip).most_ampere < MOST_AMPERE
        assert 0 < port.chip.longest_driven_s < LONGEST_S
        assert all(port.chip.is_driven_high(pin) is None for pin in CLIP_PINS[chip])
    assert found is not None
    return found, took_s


def judged(motor: OnClips, found: ClipMap) -> Verdict:
    return judge(motor.names, found.readings)


def is_right(windings: Windings, verdict: Verdict) -> bool:
    """Whether arrangement, coils with their taps and the common are those of the winding, and nothing is at fault."""
    kind, leads = CATALOGUE[windings.arrangement], windings.leads
    coils = {(frozenset((leads[u], leads[v])), None if t is None else leads[t]) for u, v, t in kind.coils}
    return (
        verdict.arrangement == windings.arrangement
        and {(frozenset(coil.ends), coil.tap) for coil in verdict.coils} == coils
        and verdict.common == (None if kind.common is None else leads[kind.common])
        and not verdict.faults
        and not verdict.spare
    )


def true_henry(circuit: Circuit, a: int, b: int) -> float:
    """The inductance between two nodes of the circuit that are joined by one way only."""
    ways: list[tuple[int, dict[int, int]]] = [(a, {})]
    for node, way in ways:
        if node == b:
            flux = [
                sense * way.get(circuit.branch[k].mate - 1, 0) * circuit.branch[k].mutual for k, sense in way.items()
            ]
            return sum(circuit.branch[k].henry for k in way) + sum(flux)
        for k in range(circuit.branches):
            branch = circuit.branch[k]
            if k not in way and branch.henry and node in (branch.start, branch.end):
                sense, other = (1, branch.end) if node == branch.start else (-1, branch.start)
                ways.append((other, {**way, k: sense}))
    raise ValueError("no way")


def within_error(motor: OnClips, found: ClipMap) -> list[bool]:
    """Of each inductance whether it lies within two standard deviations of the jig's; 1 to 100 mH are told."""
    circuit, leads, within = motor.fitted, motor.windings.leads, []
    for one in found.inductances:
        henry = true_henry(circuit, *(circuit.clips + leads.index(lead) for lead in (one.a, one.b)))
        assert isinstance(one, Timed) or not 1e-3 <= henry <= 0.1, one
        if isinstance(one, Timed):
            within.append(abs(one.henry - henry) <= 2 * one.jig_sd)
    return within


def paired(motor: OnClips, found: ClipMap) -> bool:
    """Whether it is told which halves share a phase, and of eight leads in which sense; never wrongly."""
    question = order_question(judged(motor, found))
    assert question is not None
    tests = [OrderTest("kick", each.reference, each.touched, each.answer) for each in found.kicks]
    verdict, places = judge_order(question, tests, "clips"), motor.windings.places
    for _, (one, other) in verdict.phase_halves:
        assert places[one[0]] == places[other[0]] and places[one[1]] == places[other[1]], motor.windings
    for a, b in verdict.phases if question.ends else ():
        assert (places[a] - places[b]) % 4 == 2, motor.windings
    return verdict.done


def tally(motors: int, seed: int) -> tuple[int, int, float, float]:
    """Of so many hidden motors: named right, wrong and more than 0.99 sure; the longest time in seconds; the share of
    their inductances that are within their error."""
    rng, right, wrong, longest_s, within = random.Random(seed), 0, 0, 0.0, []
    for _ in range(motors):
        windings, names = hidden(rng)
        motor = OnClips(windings, names, rng)
        chip = "atmega2560" if len(names) > 6 else rng.choice(("atmega328p", "atmega2560"))
        found, took_s = measured(motor, chip, timed=True)
        assert not found.alone and not found.restless, windings
        verdict = judged(motor, found)
        good = is_right(windings, verdict)
        right += good and verdict.confidence >= 0.95
        wrong += not good and verdict.confidence > 0.99
        longest_s = max(longest_s, took_s)
        within += within_error(motor, found)
        if windings.arrangement in ("split-8", "unipolar-5"):
            assert paired(motor, found) or any(isinstance(one, NotTimed) for one in found.inductances)
    return right, wrong, longest_s, sum(within) / len(within)


def test_hidden_motors_are_named_and_timed_without_a_typed_reading() -> None:
    right, wrong, longest_s, within = tally(4, 1)
    assert right == 4 and wrong == 0 and longest_s < 4 and within > 0.9


@pytest.mark.long("sketch")
def test_a_hundred_hidden_motors() -> None:
    right, wrong, longest_s, within = tally(100, 2)
    assert right >= 98 and wrong == 0 and longest_s < 4 and within >= 0.95


@pytest.mark.parametrize("ohm", [1.5, 200.0])
def test_the_resistances_are_within_the_error_budget(ohm: float) -> None:
    rng = random.Random(int(ohm))
    for kind in ("bipolar-4", "unipolar-5"):
        leads = tuple(f"L{k}" for k in range(CATALOGUE[kind].terminals))
        motor = OnClips(Windings(kind, leads, ohm), leads, rng)
        for reading in measured(motor)[0].readings:
            true = motor.windings.resistance_ohm[leads.index(reading.a), leads.index(reading.b)]
            # coils of these motors are up to 1.5 % off what they should be, besides
            assert reading.ohm == (true if true == math.inf else pytest.approx(true, rel=0.06, abs=0.4))


def test_a_clip_in_the_air_is_said(chip_name: str) -> None:
    for seed in range(3 if chip_name == "atmega328p" else 1):
        rng = random.Random(seed)
        windings, names = hidden(rng, ("bipolar-4", "unipolar-6", "unipolar-5")[seed])
        off = rng.randrange(len(names))
        alone = measured(OnClips(windings, names, rng, off=[off]), chip_name)[0].alone
        assert names[off] in alone


def refused(motor: OnClips, chip: str = "atmega328p") -> ClipFault:
    """The board drives nothing, and says why."""
    with session_on(motor, chip) as (session, port):
        with pytest.raises(ClipFault) as fault:
            session.measure(motor.names, no_progress)
        assert port.chip.longest_driven_s == 0
    return fault.value


# What lies on a clip beside the winding, and how high its resistance may be.
FOREIGN = [(12.0, 1e3), (5.0, 5e3), (3.3, 10e3), (0.4, 1e3), (0.0, 10.0), (-5.0, 1e3), (0.0, 10e3)]


@pytest.mark.parametrize("volt_ohm", FOREIGN)
def test_a_voltage_or_ground_on_a_clip_is_refused(volt_ohm: tuple[float, float]) -> None:
    rng = random.Random(str(volt_ohm))
    windings, names = hidden(rng, "bipolar-4")
    fault = refused(OnClips(windings, names, rng, outside={rng.randrange(4): volt_ohm}))
    assert fault.title == ("Voltage on a clip" if volt_ohm[0] > 0 else "Something on a clip")


def test_a_drivers_wiring_on_the_pins_is_refused() -> None:
    """An array on the coil lines, with the resistors that hold them off."""
    for kind in ("bipolar-4", "unipolar-6"):
        rng = random.Random(5)
        windings, names = hidden(rng, kind)
        assert "take drivers" in refused(OnClips(windings, names, rng, pulled_down=range(4))).remedy


def test_a_shaft_that_turns_is_refused() -> None:
    rng = random.Random(6)
    windings, names = hidden(rng, "unipolar-6")
    assert "hold the shaft" in refused(OnClips(windings, names, rng, turns_hz=40.0)).remedy


def test_a_shaft_that_turns_once_the_ohms_are_known_costs_the_inductances_alone() -> None:
    rng = random.Random(6)
    windings, names = hidden(rng, "bipolar-4")
    with session_on(OnClips(windings, names, rng), "atmega328p") as (session, port):
        found = session.measure(names, no_progress)
        assert found is not None
        for branch in circuit_of(port.chip).branch[:2]:
            branch.emf_volt, branch.emf_hz = 1.0, 40.0
        turning = session.watch_rises(names, found)
    assert turning is not None and turning.readings == found.readings and len(turning.inductances) == 2
    assert all(isinstance(one, NotTimed) and "hold the shaft still" in one.why for one in turning.inductances)


def seen_turning(rng: random.Random) -> bool:
    """Whether a motor whose shaft turns slowly, by a finger's push, is noticed, named right or not named."""
    windings, names = hidden(rng)
    volt, hertz = (math.exp(rng.uniform(math.log(low), math.log(high))) for low, high in ((0.02, 0.3), (0.3, 100)))
    motor = OnClips(windings, names, rng, turns_hz=hertz, turns_volt=volt)
    try:
        found, _ = measured(motor)
    except ClipFault:
        return True
    verdict = judged(motor, found)
    return found.restless or is_right(windings, verdict) or verdict.confidence < 0.95


def test_a_shaft_that_turns_slowly_is_noticed() -> None:
    rng = random.Random(8)
    assert all(seen_turning(rng) for _ in range(2))


@pytest.mark.long("sketch")
def test_a_hundred_shafts_that_turn_slowly() -> None:
    rng = random.Random(9)
    assert all(seen_turning(rng) for _ in range(100))


@pytest.mark.long("sketch")
def test_a_hundred_of_what_must_not_be_there() -> None:
    rng = random.Random(7)
    for _ in range(100):
        windings, names = hidden(rng)
        chip = "atmega328p" if len(names) <= 6 else "atmega2560"
        clip = rng.randrange(len(names))
        if rng.random() < 0.5:
            volt = rng.choice([rng.uniform(0.5, 15), rng.uniform(-5, -0.5)])
            refused(OnClips(windings, names, rng, outside={clip: (volt, math.exp(rng.uniform(3, 8)))}), chip)
        else:
            assert names[clip] in measured(OnClips(windings, names, rng, off=[clip]), chip)[0].alone


# The frames that drive a pair, and for how many milliseconds it has been driven when something happens.
DRIVES: dict[str, tuple[dict[str, int], float]] = {"pair": ({}, 5.0), "rise": ({"see": 2, "at": 16_000}, 0.5)}


def driving(chip_name: str, simulated_board: Any, verb: str = "pair") -> Any:
    """A host whose board drives clip 1 against clip 2 at this moment; the answer is still to come."""
    host = rig.Host(simulated_board(chip_name))
    wound = Windings("bipolar-4", ("a", "b", "c", "d"), 30.0)
    OnClips(wound, wound.leads, random.Random(1)).fit(host.chip)
    host.ask("drive", by="clips")
    fields, after_ms = DRIVES[verb]
    host.port.write(host.frame(verb, high=1, low=2, **fields))
    while host.chip.is_driven_high(CLIP_PINS[chip_name][0]) is not True:
        host.chip.run(1000)
    host.chip.run_ms(after_ms)
    return host


def all_inputs(host: Any) -> bool:
    return all(host.chip.is_driven_high(pin) is None for pin in CLIP_PINS[host.chip.chip])


@pytest.mark.parametrize("verb", DRIVES)
def test_one_byte_lets_the_pair_go(chip_name: str, simulated_board: Any, verb: str) -> None:
    host = driving(chip_name, simulated_board, verb)
    host.port.write(STOP_BYTE)
    host.chip.run_ms(1.1)  # 0.09 ms of it on the line
    assert all_inputs(host)
    answers = [host.answer(), host.answer()]
    assert {(answer.kind, answer.word) for answer in answers} == {("no", "stopped"), ("yes", "stop")}
    assert all_inputs(host) and circuit_of(host.chip).most_ampere < MOST_AMPERE
    assert host.ask("pair", high=1, low=2).fields["c"] < 600


@pytest.mark.parametrize("verb", DRIVES)
def test_a_pair_is_never_left_on(chip_name: str, simulated_board: Any, verb: str) -> None:
    """The host is gone, or sends garbage; a reset; a program that hangs."""
    host = driving(chip_name, simulated_board, verb)
    host.port.write(random.Random(2).randbytes(200).replace(STOP_BYTE, b"x"))
    host.chip.run_ms(120)
    assert all_inputs(host)
    host = driving(chip_name, simulated_board, verb)
    host.chip.reset()
    host.chip.run(200)
    assert all(host.chip.is_driven_high(pin) is not True for pin in CLIP_PINS[chip_name])
    host = driving(chip_name, simulated_board, verb)
    host.chip.hang()
    host.chip.run_ms(300)
    assert host.chip.watchdog_resets >= 1
    assert all(host.chip.is_driven_high(pin) is not True for pin in CLIP_PINS[chip_name])
    assert host.chip.longest_driven_s < 0.3


def test_a_slow_winding_is_waited_for() -> None:
    """A coil of 0.7 H and 200 ohm: its current needs 5 ms to stand, and the reading is none the less right."""
    motor = OnClips(Windings("bipolar-4", ("a", "b", "c", "d"), 200.0), ("a", "b", "c", "d"), random.Random(3))
    motor.time_constant_s = 3.5e-3
    reading = measured(motor)[0].readings[0]
    assert reading.ohm == pytest.approx(200, rel=0.06)


def test_the_pins_are_the_tables(host: Any) -> None:
    fields = host.ask("pins", of="clips").fields
    letters, bits = {
        "atmega328p": ("DDDDDDDDBBBBBB", "01234567012345"),
        "atmega2560": ("EEEEGEHHHHBBBBJJHHDDDDAAAAAAAACCCCCCCC", "01455334564567101032101234567776543210"),
    }[host.chip.chip]
    assert tuple(f"{letters[pin]}{bits[pin]}" for pin in fields.values()) == CLIP_PINS[host.chip.chip]


def test_nothing_else_drives_what_is_lent(host: Any) -> None:
    host.ask("drive", by="clips")
    assert all_inputs(host)
    assert host.refused("outputs", on=1).word == "by" and host.refused("coil", pattern=1, ms=10).word == "by"
    assert host.refused("move", steps=10, start=100, run=100, gain=100).word == "off"
    host.ask("stop")
    assert all_inputs(host)
    assert host.chip.is_driven_high(host.chip.pins["enable"]) is True
    host.ask("drive", by="coils")
    assert [host.chip.is_driven_high(pin) for pin in host.chip.pins["coils"]] == [False] * 4
