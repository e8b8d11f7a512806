"""Pull-out torque against speed of a two-phase motor on a chopper, with what real motors were found to lose.

A phase is stepped through time: the chopper drives the coil with the whole supply until the current is the commanded
one, R, L and the rotor's back-EMF say how fast it gets there, and the torque is the mean over a period at the load
angle that pulls most. Half-windings in turn (unipolar) are the same equations with one half's figures, since the
halves of a phase are wound together: their ampere-turns go on in the other half when one is switched off. That takes
a clamp which lets the switched-off half swing to twice the supply.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from coilbench.motion.pullout import MotorFigures

Array = npt.NDArray[np.float64]

# Fitted to the printed curves of four motors, two of them unipolar, each on 12 and 24 V (``tests/motion`` has the
# points and fits them again): at low speed a share of the ideal torque is left, and it shrinks as the back-EMF takes
# its part of the supply. Median error 7 %; 9 % for a motor that the fit hasn't seen.
LOW_SPEED_SHARE = 0.83
BACK_EMF_LOSS = 2.4
# About nine in ten of the printed points, of motors that the fit hasn't seen, lie within these times the torque.
BAND = (0.55, 1.35)
# So fine, torque is within 1.5 % of ten times finer steps in full steps, 4 % with a sine at the end of its speed.
_LEADS = np.linspace(-0.1, 1.75, 24)  # rad that the command may run ahead of the rotor
_HALF_STEPS = 24  # time steps in half a period
_ANGLES = [(step + 0.5) * math.pi / _HALF_STEPS for step in range(_HALF_STEPS)]
_SINES = np.array([math.sin(angle) for angle in _ANGLES])[:, None, None]
_HALF_SINES = [0.5 * math.sin(angle) for angle in _ANGLES]
# The current commanded at each of them and each lead, in shares of the peak: (half steps, leads).
_SINE = np.array([np.sin(angle + _LEADS) for angle in _ANGLES])
_COMMANDS = {True: _SINE, False: np.sign(_SINE)}
_SETTLING = {False: 3, True: 7}  # half periods until a period repeats itself; a sine's current takes longer
_CURVE_POINTS = 48
_AHEAD = 1.01  # times the other's torque counts as more
_COARSE = 1.25  # times the fundamentals' bound that coarse time steps reach at most
_SLOWEST_SPS = 4.0
_FASTEST_SPS = 60_000.0


@dataclass(frozen=True, slots=True)
class Drive:
    """How the windings are driven: the supply, the peak current set (the chopping level), and whether it follows a
    sine (microstepping) or both phases carry all of it (full step)."""

    supply_volt: float
    current_ampere: float
    microstepping: bool = False


@dataclass(frozen=True)
class PullOut:
    """Torque in newton metre at each of ``rate_sps`` (full steps a second), with its band; all of shape (n,)."""

    rate_sps: Array
    torque: Array
    low: Array
    high: Array


@dataclass(frozen=True, slots=True)
class CurveEnds:
    """What a whole curve comes to, rates in full steps a second.

    ``at_rest_newton_metre`` is the pull-out torque at a creep. ``full_current_until_sps`` is 0 where the supply
    doesn't bring the current through the bare ohms.
    """

    at_rest_newton_metre: float
    full_current_until_sps: float
    half_torque_sps: float


@dataclass(frozen=True)
class Curve:
    """A whole curve, from a creep to where nothing is left."""

    points: PullOut
    ends: CurveEnds

    def torque_at(self, rate_sps: float) -> float:
        """Torque in newton metre at a rate, between the curve's points: within 1 %."""
        return float(np.interp(math.log(rate_sps), np.log(self.points.rate_sps), self.points.torque))

    def fastest_sps(self, torque_newton_metre: float) -> float:
        """The rate in full steps a second up to which it pulls at least that; 0 where it never does."""
        if self.points.torque[0] < torque_newton_metre:
            return 0.0
        return _last_above(self.points.rate_sps, self.points.torque, torque_newton_metre)


@dataclass(frozen=True, slots=True)
class Several:
    """Motors as they are driven, reckoned together: arrays of shape (motors,); all of them microstep, or none."""

    microstepping: bool
    newton_metre_per_ampere: Array
    flux_linkage_weber: Array
    resistance_ohm: Array
    inductance_henry: Array
    full_newton_metre: Array  # the holding torque at the current that is set
    supply_volt: Array
    current_ampere: Array

    @classmethod
    def of(cls, driven: Sequence[tuple[MotorFigures, Drive]]) -> Several:
        """A row for each."""
        rows = [
            (
                motor.torque_constant_newton_metre_per_ampere,
                motor.flux_linkage_weber,
                motor.resistance_ohm,
                motor.inductance_henry,
                motor.holding_torque_newton_metre * drive.current_ampere / motor.rated_current_ampere,
                drive.supply_volt,
                drive.current_ampere,
            )
            for motor, drive in driven
        ]
        fine = bool(driven) and driven[0][1].microstepping
        return cls(fine, *np.array(rows, dtype=float).reshape(len(rows), 7).T)

    def rows(self, which: npt.NDArray[np.intp]) -> Several:
        """Some of them."""
        return Several(self.microstepping, *(each[which] for each in self._arrays))

    @staticmethod
    def joined(parts: Sequence[Several]) -> Several:
        """All of several at once."""
        arrays = zip(*(each._arrays for each in parts), strict=True)
        return Several(parts[0].microstepping, *map(np.concatenate, arrays))

    @property
    def _arrays(self) -> tuple[Array, ...]:
        return (
            self.newton_metre_per_ampere,
            self.flux_linkage_weber,
            self.resistance_ohm,
            self.inductance_henry,
            self.full_newton_metre,
            self.supply_volt,
            self.current_ampere,
        )

    def torque(self, rate_sps: Array) -> Array:
        """Pull-out torque in newton metre of each at its rate, above zero; one motor at many rates, too."""
        return self._with_losses(_ideal_torque(self, rate_sps), rate_sps)

    def at_most(self, rate_sps: Array) -> Array:
        """No more than this is pulled there, without a step through time.

        Torque comes of the current's fundamental alone: that of a square voltage against R, L and back-EMF (Acarnley,
        Stepping Motors, from memory; as in ``pullout``), and that of the current that is set.
        """
        electrical = math.pi / 2 * rate_sps
        emf, impedance2 = electrical * self.flux_linkage_weber, self.resistance_ohm**2
        impedance2 = impedance2 + (electrical * self.inductance_henry) ** 2
        by_volt = 4 / math.pi * self.supply_volt / np.sqrt(impedance2) - emf * self.resistance_ohm / impedance2
        by_ampere = self.current_ampere * (1.0 if self.microstepping else 4 / math.pi)
        ideal = self.newton_metre_per_ampere * np.maximum(np.minimum(by_volt, by_ampere), 0.0)
        return self._with_losses(_COARSE * ideal, rate_sps)

    def _with_losses(self, ideal: Array, rate_sps: Array) -> Array:
        emf_share = math.pi / 2 * rate_sps * self.flux_linkage_weber / self.supply_volt
        left: Array = LOW_SPEED_SHARE * ideal / (1 + BACK_EMF_LOSS * emf_share**2 * ideal / self.full_newton_metre)
        return left


def pull_out(motor: MotorFigures, rate_sps: Array, drive: Drive) -> PullOut:
    """Pull-out torque at rates in full steps a second, each above zero."""
    rates = np.asarray(rate_sps, dtype=float)
    torque = Several.of([(motor, drive)]).torque(rates)
    low, high = BAND
    return PullOut(rates, torque, low * torque, high * torque)


@lru_cache(maxsize=64)
def whole_curve(motor: MotorFigures, drive: Drive) -> Curve:
    """The curve over all speeds, and where the current and the torque give out."""
    found = pull_out(motor, np.geomspace(_SLOWEST_SPS, _FASTEST_SPS, _CURVE_POINTS), drive)
    at_rest = float(found.torque[0])
    half = _last_above(found.rate_sps, found.torque, at_rest / 2)
    return Curve(found, CurveEnds(at_rest, full_current_until(motor, drive), half))


def full_current_until(motor: MotorFigures, drive: Drive) -> float:
    """The rate in full steps a second up to which the supply brings the whole current, as a sine in phase with the
    back-EMF: V^2 = (R I + w psi)^2 + (w L I)^2; 0 where the ohms alone take more.

    Without ohms and back-EMF it is the common rule 2 V / (pi L I).
    """
    volt, ampere, flux = drive.supply_volt, drive.current_ampere, motor.flux_linkage_weber
    ohmic = motor.resistance_ohm * ampere
    if ohmic >= volt:
        return 0.0
    square = flux**2 + (motor.inductance_henry * ampere) ** 2
    electrical = (math.sqrt((ohmic * flux) ** 2 + square * (volt**2 - ohmic**2)) - ohmic * flux) / square
    return electrical * 2 / math.pi


def torque_at(motor: MotorFigures, rate_sps: float, drive: Drive) -> float:
    """Pull-out torque in newton metre at one rate."""
    return float(pull_out(motor, np.array([rate_sps]), drive).torque[0])


def crossing_sps(one: Curve, other: Curve) -> float | None:
    """The lowest rate from which on ``one`` pulls more than ``other``; None where it never does, 0 where always."""
    rates, ahead = one.points.rate_sps, one.points.torque - _AHEAD * other.points.torque
    first = int(np.argmax(ahead > 0))
    if not ahead[first] > 0:
        return None
    if first == 0:
        return 0.0
    before, after = ahead[first - 1], ahead[first]
    return float(rates[first - 1] + (rates[first] - rates[first - 1]) * -before / (after - before))


def _last_above(rates: Array, values: Array, level: float) -> float:
    """The rate at which ``values`` fall under ``level`` for the first time, between the points by a straight line."""
    under = np.nonzero(values < level)[0]
    if not len(under):
        return float(rates[-1])
    last = int(under[0])
    if last == 0:
        return float(rates[0])
    share = (values[last - 1] - level) / (values[last - 1] - values[last])
    return float(rates[last - 1] + share * (rates[last] - rates[last - 1]))


def _ideal_torque(motors: Several, rates: Array) -> Array:
    """Torque at the best load angle, without losses; shape (rates,)."""
    electrical = (math.pi / 2 * rates)[:, None]
    emf = electrical * motors.flux_linkage_weber[:, None]
    resistance, limit = motors.resistance_ohm[:, None], motors.current_ampere[:, None]
    time_constants = math.pi / _HALF_STEPS / electrical * resistance / motors.inductance_henry[:, None]
    fading, ampere_per_volt = np.exp(-time_constants), -np.expm1(-time_constants) / resistance
    begin = np.zeros((len(rates), len(_LEADS)))
    for _ in range(_SETTLING[motors.microstepping]):
        end, _work = _half_period(motors, emf, fading, ampere_per_volt, begin)
        # A period repeats when half of it ends with the opposite current: exact where nothing limits the current.
        begin = begin - (begin + end) / (1 + fading**_HALF_STEPS)
        begin = np.clip(begin, -limit, limit)
    _, work = _half_period(motors, emf, fading, ampere_per_volt, begin)
    best: Array = 2 * motors.newton_metre_per_ampere * work.max(axis=1) / _HALF_STEPS
    return np.maximum(best, 0.0, out=best)


def _half_period(
    motors: Several, emf: Array, fading: Array, ampere_per_volt: Array, begin: Array
) -> tuple[Array, Array]:
    """The current at its end, and the sum of current x sine of the rotor's angle; both of ``begin``'s shape."""
    current, work = begin, np.zeros_like(begin)
    back, supply = _SINES * emf, motors.supply_volt[:, None]
    falls, rises = ampere_per_volt * (supply + back), ampere_per_volt * (supply - back)
    limit, commands = motors.current_ampere[:, None], _COMMANDS[motors.microstepping]
    for command, fall, rise, sine in zip(commands, falls, rises, _HALF_SINES, strict=True):
        faded = current * fading
        after = np.minimum(np.maximum(limit * command, faded - fall), faded + rise)
        work += (current + after) * sine
        current = after
    return current, work
