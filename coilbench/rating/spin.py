"""From spinning the shaft: back-EMF, torque constant, holding torque; and from counting: step angle, inductance.

Relations (TRINAMIC: QMOT QSH4218 motor manual, back-EMF; MathWorks: Simscape Electrical, block Stepper Motor): a
coil's peak back-EMF is Km times the shaft's speed in rad/s, one coil at I gives Km I, two at I each give sqrt(2)
Km I. A full electrical cycle is four full steps.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from coilbench.errors import InputProblem

STEPS_PER_CYCLE = 4
USUAL_AC_LIMIT_HERTZ = 400.0  # many hand meters' AC ranges end at a few hundred hertz: common practice
SLOWEST_AC_HERTZ = 40.0  # where they begin: common practice
# One standard deviation, shares: a hand meter's AC volts near sine (makers print 1 to 1.5 % and some counts), its
# frequency, and a drill's printed speed, which drops under load (common practice).
VOLT_DOUBT = 0.02
HERTZ_DOUBT = 0.005
DRILL_DOUBT = 0.10
# Volts read outside the meter's range: off by an amount its maker doesn't print.
OUTSIDE_RANGE_DOUBT = 0.5
# Iron that fills up makes less of the rated current than the straight line: data-sheet motors hold 5 to 20 % under
# it (common practice).
SATURATION_DOUBT = 0.12
USUAL_STEP_ANGLES = (0.9, 1.8, 3.6, 3.75, 7.5, 15.0, 18.0)
# How a shaft turned by hand feels with every lead apart: common practice.
DETENT_NOTES = {
    "none": "no detents: a variable-reluctance motor, or a magnet that has gone weak; spun volts would say little",
    "soft": "soft even detents: a hybrid or tin-can motor in order, one detent a full step",
    "firm": "firm detents: usual for tin cans and long hybrids; if it drags as well, look for leads that touch or "
    "shorted turns: a coil shorted on itself brakes the shaft",
}
SMALLEST_STEP_DEGREE = 0.3
LARGEST_STEP_DEGREE = 90.0


@dataclass(frozen=True, slots=True)
class Spin:
    """What a spun coil says. Volts are those measured across the coil named by the caller.

    ``torque_constant`` is N.m per ampere through that coil alone, numerically V/(rad/s) of peak back-EMF;
    ``back_emf_rms`` the same in RMS volts. ``doubt`` is one standard deviation of both, a share; ``notes`` say what
    makes it large.
    """

    shaft_rev_per_second: float
    cycle_hertz: float
    back_emf_rms: float
    torque_constant: float
    doubt: float
    notes: tuple[str, ...] = ()

    @property
    def torque_doubt(self) -> float:
        """One standard deviation of the holding torque, a share: the iron's, too."""
        return math.hypot(self.doubt, SATURATION_DOUBT)

    def holding_torque(self, ampere: float) -> float:
        """Estimated holding torque in N.m with two phases on, ``ampere`` in each."""
        return math.sqrt(2) * self.torque_constant * ampere


def check_step_angle(step_angle_degree: float) -> float:
    """The angle itself, in degree; raises InputProblem for one no stepper has."""
    if not SMALLEST_STEP_DEGREE <= step_angle_degree <= LARGEST_STEP_DEGREE:
        raise InputProblem(
            f"step angle {step_angle_degree:g} degree: expected {SMALLEST_STEP_DEGREE:g} to {LARGEST_STEP_DEGREE:g}"
        )
    return step_angle_degree


def cycle_hertz(rev_per_second: float, step_angle_degree: float) -> float:
    """Electrical cycles a second at a shaft speed."""
    return rev_per_second * 360.0 / (STEPS_PER_CYCLE * check_step_angle(step_angle_degree))


def rev_per_second(hertz: float, step_angle_degree: float) -> float:
    """Shaft turns a second at an electrical frequency."""
    return hertz * STEPS_PER_CYCLE * check_step_angle(step_angle_degree) / 360.0


def judge_spin(
    volt_rms: float,
    step_angle_degree: float,
    hertz: float | None = None,
    shaft_rev_per_second: float | None = None,
    limit_hertz: float = USUAL_AC_LIMIT_HERTZ,
) -> Spin:
    """The constants from AC volts (RMS) and either the frequency or the shaft's speed, with their doubt.

    ``limit_hertz`` is where the meter's AC range ends: above it the volts read low, and under its begin they are
    off, too. Raises InputProblem.
    """
    if (hertz is None) == (shaft_rev_per_second is None):
        raise InputProblem("the spun coil's volts need its frequency or the drill's speed: expected one of the two")
    speed_doubt = DRILL_DOUBT if hertz is None else HERTZ_DOUBT
    if hertz is not None:
        shaft_rev_per_second = rev_per_second(hertz, step_angle_degree)
    assert shaft_rev_per_second is not None
    if not (volt_rms > 0 and shaft_rev_per_second > 0):
        raise InputProblem(f"{volt_rms:g} V at {shaft_rev_per_second:g} turns a second: expected both above zero")
    rms = volt_rms / (2 * math.pi * shaft_rev_per_second)
    cycles = cycle_hertz(shaft_rev_per_second, step_angle_degree)
    notes: tuple[str, ...] = ()
    doubt = math.hypot(VOLT_DOUBT, speed_doubt)
    if cycles > 1.02 * limit_hertz:
        slow = drill_limit_rev_per_minute(step_angle_degree, limit_hertz)
        notes = (
            f"{cycles:.0f} Hz is beyond the {limit_hertz:g} Hz at which this meter's AC range ends: its volts read "
            f"low, nobody knows by how much, and the motor is stronger than that. Spin slower, under {slow:.0f} rpm",
        )
    elif cycles < 0.98 * SLOWEST_AC_HERTZ:
        fast = drill_limit_rev_per_minute(step_angle_degree, SLOWEST_AC_HERTZ)
        notes = (
            f"{cycles:.3g} Hz is under the {SLOWEST_AC_HERTZ:g} Hz at which hand meters' AC ranges begin: its volts "
            f"are off, nobody knows by how much. Spin faster, over {fast:.0f} rpm",
        )
    if notes:
        doubt = math.hypot(doubt, OUTSIDE_RANGE_DOUBT)
    return Spin(
        shaft_rev_per_second=shaft_rev_per_second,
        cycle_hertz=cycles,
        back_emf_rms=rms,
        torque_constant=math.sqrt(2) * rms,
        doubt=doubt,
        notes=notes,
    )


def drill_limit_rev_per_minute(step_angle_degree: float, limit_hertz: float = USUAL_AC_LIMIT_HERTZ) -> float:
    """The drill speed in 1/min at which a meter's AC range ends."""
    if limit_hertz <= 0:
        raise InputProblem(f"meter's AC limit {limit_hertz:g} Hz: expected more than zero")
    return 60.0 * rev_per_second(limit_hertz, step_angle_degree)


def step_angle_from_count(steps: int, turns: float = 1.0) -> tuple[float, tuple[str, ...]]:
    """Step angle in degree from steps (or detents felt: one a full step) counted over some turns.

    The nearest usual angle is taken when the count is within 2 % of it; notes say so, or that none is near.
    """
    if steps < 4 or turns <= 0:
        raise InputProblem(f"{steps} steps in {turns:g} turns: expected at least 4 steps and some turns")
    counted = check_step_angle(360.0 * turns / steps)
    nearest = min(USUAL_STEP_ANGLES, key=lambda angle: abs(math.log(angle / counted)))
    off = abs(counted / nearest - 1)
    if off < 1e-9:
        return nearest, ()
    if off <= 0.02:
        return nearest, (
            f"counted {counted:.3g} degree, taken as the usual {nearest:g}: count again over more turns",
        )
    return counted, (f"{counted:.3g} degree is no usual step angle: count again; a gear, or three or five phases?",)


def inductance_from_time_constant(time_constant_second: float, resistance_ohm: float) -> float:
    """Inductance in henry from the time to 63 % of the final current, with everything in the loop in the ohms."""
    if not (time_constant_second > 0 and resistance_ohm > 0):
        raise InputProblem("time constant and resistance: expected both above zero")
    return time_constant_second * resistance_ohm
