"""What a chopper can reach and hold, against a circuit simulator and against integration in fine steps.

Neither knows the formulas of the engine: the one solves a bridge of switches and diodes, the other follows the
current of a coil 20 ns at a time through a comparator, blanking and decay.
"""

from __future__ import annotations

import math
import re
import subprocess
from pathlib import Path

import pytest

from coilbench.driver.catalogue import find
from coilbench.driver.chip import Chip
from coilbench.driver.finding import Judgement, Situation
from coilbench.driver.findings import judgement_of
from coilbench.driver.reference_voltage import set_peak
from coilbench.driver.regulation import (
    Loop,
    chop_floor,
    clipped_position_error,
    levels_below,
    quiet_mode_floor,
    reachable_ampere,
    standing_share,
)
from tests.support import ngspice

SENSE_OHM = 0.1
STEP_SECOND = 20e-9


def judged(chip: Chip, supply: float, coil: float, henry: float, peak: float = 1.0) -> Judgement:
    sense = SENSE_OHM if chip.needs_sense else None
    setting = set_peak(chip, peak, sense)
    return judgement_of(Situation(setting, supply, coil, henry, microsteps=16))


def integrate(chip: Chip, supply: float, coil: float, henry: float, level: float, fast: float) -> tuple[float, float]:
    """Mean and top of the settled current of one coil whose level is ``level``, by steps of 20 ns.

    On until the level is passed, blanking over or not; then off for the chip's off time (or to the next tick of its
    clock), with the first ``fast`` of it against the supply and the rest round the low side.
    """
    bridge = chip.bridge_ohm or 0.0
    sense = SENSE_OHM if chip.needs_sense else 0.0
    on_ohm, slow_ohm = coil + bridge + sense, coil + bridge
    blank = round((chip.blank_us or 0.0) * 1e-6 / STEP_SECOND)
    fixed_off = None if chip.off_us is None else round(chip.off_us * 1e-6 / STEP_SECOND)
    period = None if chip.chop_khz is None else round(1e-3 / chip.chop_khz / STEP_SECOND)
    settle = round(8 * henry / slow_ohm / STEP_SECOND)
    ticks = settle + 100 * (period or blank + (fixed_off or 0))
    current = area = top = 0.0
    on, since, off = True, 0, 0
    for tick in range(ticks):
        if on and since >= blank and current >= level:
            off = fixed_off if fixed_off is not None else max((period or 0) - since, 0)
            on, since = False, 0
        elif not on and since >= off:
            on, since = True, 0
        if on:
            volt = supply - on_ohm * current
        elif since < fast * off:
            volt = -supply - on_ohm * current
        else:
            volt = -slow_ohm * current
        current = max(current + volt / henry * STEP_SECOND, 0.0)
        since += 1
        if tick >= settle:
            area += current
            top = max(top, current)
    return area / (ticks - settle), top


# Coil ohm, coil henry and supply of motors from a scrapped machine, low to high; every chip fixed off or fixed clock.
CASES = [
    ("A4988", 24.0, 2.0, 2e-3),
    ("A4988", 35.0, 0.9, 1.2e-3),
    ("A4988", 12.0, 30.0, 20e-3),
    ("A4988", 24.0, 5.0, 0.3e-3),
    ("DRV8825", 24.0, 2.0, 2e-3),
    ("DRV8825", 12.0, 1.5, 3e-3),
    ("DRV8825", 40.0, 34.0, 10e-3),
    ("DRV8824", 24.0, 8.0, 4e-3),
    ("DRV8880", 24.0, 4.0, 3e-3),
    ("MP6500", 30.0, 3.0, 2e-3),
    ("TB67S109A", 24.0, 1.5, 2e-3),
]


@pytest.mark.parametrize(("name", "supply", "coil", "henry"), CASES)
def test_the_slow_decay_floor_is_what_integration_settles_at(
    name: str, supply: float, coil: float, henry: float
) -> None:
    chip = find(name)
    found = judged(chip, supply, coil, henry)
    mean, top = integrate(chip, supply, coil, henry, 0.0, 0.0)
    assert found.floor_ampere == pytest.approx(mean, rel=0.02)  # 0.15 would do
    assert found.floor_peak_ampere == pytest.approx(top, rel=0.02)


@pytest.mark.parametrize(("name", "supply", "coil", "henry"), [CASES[0], CASES[4], CASES[7]])
def test_a_level_over_the_floor_is_held_and_one_under_it_is_not(
    name: str, supply: float, coil: float, henry: float
) -> None:
    chip = find(name)
    found = judged(chip, supply, coil, henry)
    assert found.floor_peak_ampere is not None
    over, under = 1.25 * found.floor_peak_ampere, 0.7 * found.floor_peak_ampere
    overshoot = supply / henry * 2 * STEP_SECOND
    assert integrate(chip, supply, coil, henry, over, 0.0)[1] <= over + overshoot
    assert integrate(chip, supply, coil, henry, under, 0.0)[1] > 1.2 * under


@pytest.mark.parametrize(
    ("name", "supply", "coil", "henry", "fast"),
    [
        ("A4988", 24.0, 2.0, 2e-3, 0.3125),
        ("A4988", 24.0, 2.0, 2e-3, 0.02),  # so little that the current never reaches zero
        ("DRV8825", 24.0, 2.0, 2e-3, 0.72),
        ("DRV8825", 24.0, 2.0, 0.2e-3, 0.05),
    ],
)
def test_the_mixed_decay_floor_is_what_integration_settles_at(
    name: str, supply: float, coil: float, henry: float, fast: float
) -> None:
    chip = find(name)
    loop = Loop(supply, coil, chip.bridge_ohm or 0.0, SENSE_OHM, 0.0, henry)
    blank, off = chip.blank_second, chip.off_second()
    assert blank is not None and off is not None
    found = chop_floor(loop, blank, off, fast)
    mean, top = integrate(chip, supply, coil, henry, 0.0, fast)
    assert found.mean_ampere == pytest.approx(mean, rel=0.05)
    assert found.peak_ampere == pytest.approx(top, rel=0.05)


@pytest.mark.parametrize(
    ("name", "supply", "coil", "henry"),
    [("A4988", 12.0, 34.0, 20e-3), ("DRV8825", 12.0, 75.0, 30e-3), ("LV8729V", 9.0, 12.0, 8e-3)],
)
def test_a_level_that_is_never_reached_leaves_the_reachable_current(
    name: str, supply: float, coil: float, henry: float
) -> None:
    chip = find(name)
    reach = judged(chip, supply, coil, henry).reach_ampere
    assert reach == pytest.approx(integrate(chip, supply, coil, henry, 1.5, 0.0)[0], rel=0.02)


def bridge_netlist(
    supply: float, coil: float, henry: float, bridge: float, on: float, off: float, fast: float
) -> str:
    """A full bridge of switches with body diodes on a coil, driven with the shortest on time over and over.

    Slow decay closes both low sides; fast decay opens all, so that the diodes return the current to the supply.
    """
    period = on + off
    settle = 8 * henry / coil
    stop = settle + 40 * period
    edge = 5e-9
    step = min(on / 20, 2e-7)
    # The low side of A rests while A is driven (on) and while everything is open (fast).
    return f"""chopper floor
Vm vm 0 {supply}
Von gon 0 PULSE(0 1 0 {edge} {edge} {on} {period})
Vslow gslow 0 PULSE(0 1 {on + fast * off + edge} {edge} {edge} {off - fast * off - 3 * edge} {period})
Bb gb 0 V = V(gon) > V(gslow) ? V(gon) : V(gslow)
S1 vm a gon 0 half
S2 a s gslow 0 half
S4 b s gb 0 half
D1 a vm body
D2 s a body
D3 b vm body
D4 s b body
Rs s 0 {SENSE_OHM}
Rc a m {coil}
L1 m b {henry}
.model half SW(RON={bridge / 2} ROFF=1e7 VT=0.5 VH=0)
.model body D(IS=1e-10 N=0.6 RS=0.001)
.options reltol=1e-4
.tran {step} {stop} 0 {step} UIC
.meas tran mean AVG i(L1) FROM={settle} TO={settle + 40 * period}
.meas tran top MAX i(L1) FROM={settle} TO={settle + 40 * period}
.end
"""


def simulate(netlist: str, folder: Path) -> dict[str, float]:
    path = folder / "bridge.cir"
    path.write_text(netlist)
    done = subprocess.run(
        [ngspice.program(), "-b", str(path)], capture_output=True, text=True, timeout=120, check=False
    )
    found = re.findall(r"^(mean|top|reach)\s*=\s*([-+0-9.eE]+)", done.stdout, re.MULTILINE)
    assert found, done.stdout + done.stderr
    return {name: float(value) for name, value in found}


@pytest.mark.parametrize(
    ("name", "supply", "coil", "henry", "fast"),
    [
        ("A4988", 24.0, 2.0, 2e-3, 0.0),
        ("A4988", 12.0, 8.0, 6e-3, 0.0),
        ("DRV8825", 24.0, 2.0, 2e-3, 0.0),
        ("DRV8824", 24.0, 8.0, 4e-3, 0.0),
        ("DRV8825", 24.0, 2.0, 2e-3, 0.05),
    ],
)
def test_the_floor_is_what_the_circuit_simulator_settles_at(
    name: str, supply: float, coil: float, henry: float, fast: float, tmp_path: Path
) -> None:
    chip = find(name)
    blank, off, bridge = chip.blank_second, chip.off_second(), chip.bridge_ohm
    assert blank is not None and off is not None and bridge is not None
    found = chop_floor(Loop(supply, coil, bridge, SENSE_OHM, 0.0, henry), blank, off, fast)
    seen = simulate(bridge_netlist(supply, coil, henry, bridge, blank, off, fast), tmp_path)
    assert found.mean_ampere == pytest.approx(seen["mean"], rel=0.03)  # 0.15 would do
    assert found.peak_ampere == pytest.approx(seen["top"], rel=0.03)


def test_the_reachable_current_is_the_circuit_simulators(tmp_path: Path) -> None:
    netlist = f"""bridge always on
Vm vm 0 12
Vg g 0 1
S1 vm a g 0 half
S4 b s g 0 half
Rs s 0 {SENSE_OHM}
Rc a m 34
L1 m b 20m
.model half SW(RON=0.32 ROFF=1e7 VT=0.5 VH=0)
.tran 10u 10m 0 10u UIC
.meas tran reach FIND i(L1) AT=9.9m
.end
"""
    seen = simulate(netlist, tmp_path)["reach"]
    assert judged(find("A4988"), 12.0, 34.0, 20e-3, 0.8).reach_ampere == pytest.approx(seen, rel=0.02)


def test_printed_floor_of_the_quiet_mode() -> None:
    # 24 V, 5 ohm: 225 mA in TMC220X Rev 1.02, TMC2226 Rev 1.06 and TMC5160 Rev 1.18; 337 mA in TMC2100 Rev 1.07.
    for name, printed in (("TMC2208", 0.225), ("TMC2209", 0.225), ("TMC5160", 0.225), ("TMC2100", 0.337)):
        duty = find(name).quiet_mode_duty
        assert duty is not None
        assert quiet_mode_floor(duty, 24.0, 5.0) == pytest.approx(printed, abs=0.0005)


def test_rough_floor_of_the_trade() -> None:
    # Mean volts at 24 V over 2 ohm, bridge left out: arithmetic on the documents' times.
    for name, rough in (("A4988", 0.39), ("MP6500", 0.96), ("DRV8825", 1.35), ("DRV8824", 2.25)):
        chip = find(name)
        blank, off = chip.blank_second, chip.off_second()
        assert blank is not None and off is not None
        assert chop_floor(Loop(24.0, 2.0), blank, off).mean_ampere == pytest.approx(rough, abs=0.005)


def test_a_coil_of_unknown_inductance_has_the_floor_of_a_large_one() -> None:
    known = chop_floor(Loop(24.0, 2.0, 0.4, 0.1, 0.0, 1.0), 3.75e-6, 29.6e-6)
    unknown = chop_floor(Loop(24.0, 2.0, 0.4, 0.1), 3.75e-6, 29.6e-6)
    assert unknown.mean_ampere == pytest.approx(known.mean_ampere, rel=1e-3)
    assert unknown.peak_ampere == pytest.approx(known.peak_ampere, rel=1e-3)


def test_what_stays_of_microsteps() -> None:
    assert levels_below(1.0, 16, 0.0) == 0
    assert levels_below(1.0, 16, 0.1) == 1  # 0.098 A is below, 0.195 A is not
    assert levels_below(1.0, 16, 2.0) == 16
    # Both coils at their reach over the middle of a step: 45 degrees whatever was asked.
    assert standing_share(1.0, 0.5) == pytest.approx(1 / 3)  # sine 0.5 is 30 degrees: 30 of 90 are left
    assert standing_share(1.0, 0.8) == 0.0
    assert clipped_position_error(1.0, 1.0) == pytest.approx(0.0, abs=1e-12)
    assert clipped_position_error(1.0, 0.5) == pytest.approx((45 - 30) / 90, abs=0.01)
    assert reachable_ampere(Loop(12.0, 34.0, 0.8, 0.1)) == pytest.approx(0.344, abs=5e-4)
    assert math.isclose(reachable_ampere(Loop(12.0, 10.0, 1.0, 0.0, drop_volt=1.0)), 1.0)
