"""The roads to a unipolar motor's windings: what flows, what is pulled at rest and at speed, what each wants."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilbench.errors import InputProblem
from coilbench.stages.connection.at_hand import driver_at_hand
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Texts

if TYPE_CHECKING:
    from coilbench.rating.roads import Road

USUAL_SUPPLY_VOLT = 24.0
HEADS = ("road", "supply", "A", "ohm a phase", "heat: coils + resistors", "at rest", "at speed", "steps")
NARROW_HEADS = ("road", "A", "heat: coils + resistors", "at rest", "at speed")  # those that 80 columns hold
CLAMP_HEADS = ("clamp of a switched-off half", "across it", "current gone in", "")
BASIS = (
    "L/nR: all ohms of the circuit are n times the winding's; torque counts from one half-winding at its rating; at "
    "speed it is pull-out torque by the model"
)


@dataclass(frozen=True)
class RoadPull:
    """A road with what it pulls, in newton metre: holding at rest, pull-out at the speed wanted."""

    road: Road
    supply_volt: float
    rest_newton_metre: float
    speed_newton_metre: float
    half_newton_metre: float

    @property
    def cells(self) -> tuple[str, ...]:
        """A row under ``HEADS``."""
        road = self.road
        ohm = f"{road.ohm:.3g}" + (f" + {road.series_ohm:.3g}" if road.series_ohm else "")
        heat = f"{road.coil_watt:.2g}" + (f" + {2 * road.series_watt:.2g}" if road.series_ohm else "") + " W"
        share = self.half_newton_metre
        return (
            road.name,
            f"{self.supply_volt:.3g} V",
            f"{road.ampere:.3g}",
            ohm,
            heat,
            f"{self.rest_newton_metre / share:.2f}",
            f"{self.speed_newton_metre / share:.2f}",
            road.microsteps,
        )

    @property
    def flow(self) -> str:
        """What flows, in a line."""
        _, supply, ampere, ohm, heat, *_, steps = self.cells
        return f"on {supply}: {ampere} A through {ohm} ohm a phase; {heat} of heat; {steps}"

    @property
    def told(self) -> tuple[str, ...]:
        """What it is, what it needs, what to beware of, a line each."""
        road = self.road
        return (road.says, f"needs {'; '.join(road.parts)}", *(f"! {each}" for each in road.cautions))

    def as_json(self) -> dict[str, Any]:
        """JSON-plain, SI units."""
        road = self.road
        return {
            "road": road.name,
            "says": road.says,
            "drive": road.drive,
            "chops": road.chops,
            "supply_volt": self.supply_volt,
            "amp": road.ampere,
            "ohm": road.ohm,
            "henry": road.henry,
            "series_ohm": road.series_ohm,
            "series_watt": road.series_watt,
            "coil_watt": road.coil_watt,
            "supply_watt": road.supply_watt,
            "time_constant_second": road.time_constant_second,
            "torque_at_rest_relative": self.rest_newton_metre / self.half_newton_metre,
            "torque_at_speed_relative": self.speed_newton_metre / self.half_newton_metre,
            "torque_at_rest_newton_metre": self.rest_newton_metre,
            "torque_at_speed_newton_metre": self.speed_newton_metre,
            "microsteps": road.microsteps,
            "parts": list(road.parts),
            "cautions": list(road.cautions),
        }


@dataclass(frozen=True)
class Clamp:
    """What stands across a half that is switched off, and how long its current takes to die."""

    name: str
    volt: float
    decay_second: float
    remark: str

    @property
    def cells(self) -> tuple[str, ...]:
        """A row under ``CLAMP_HEADS``."""
        return self.name, f"{self.volt:.3g} V", f"{1e6 * self.decay_second:.0f} us", self.remark


@dataclass(frozen=True)
class RoadsAnswer:
    """All roads at one speed, and the clamps for those with four switches."""

    rows: tuple[RoadPull, ...]
    clamps: tuple[Clamp, ...]
    rev_per_second: float
    joule: float
    notes: tuple[str, ...]

    @property
    def judged_at(self) -> str:
        """The speed that ``at speed`` is about."""
        return f"at {60 * self.rev_per_second:.3g} rpm"

    @property
    def gives_back(self) -> str:
        """What the clamps have to take."""
        return f"each switching off gives back {1e3 * self.joule:.2g} mJ"

    def as_json(self) -> dict[str, Any]:
        """JSON-plain, SI units."""
        return {
            "judged_at_rev_per_second": self.rev_per_second,
            "roads": [each.as_json() for each in self.rows],
            "clamps": [
                {"clamp": each.name, "volt": each.volt, "decay_second": each.decay_second, "remark": each.remark}
                for each in self.clamps
            ],
            "switch_off_joule": self.joule,
            "notes": list(self.notes),
        }


class Roads(ConnectionStage):
    """The connection's fields, asked another question; there is nothing to keep."""

    def roads(self, texts: Texts) -> RoadsAnswer:
        """Every road for the motor told or kept.

        Raises what ``answer`` does, and InputProblem for a motor without taps.
        """
        from coilbench.motion.pullout import MotorFigures
        from coilbench.motion.torque_curve import Drive, torque_at
        from coilbench.rating.roads import roads

        known = self.desk.known
        fit = check_usable(known)
        if fit.only is not None:
            raise InputProblem(f"{fit.line}: expected a motor whose halves are all there")
        winding = self._half_winding(texts, known)
        at_hand = driver_at_hand(texts.get("driver", ""))
        bench = self._bench(texts, winding.leads, at_hand)
        limit = bench.limit_peak_ampere if bench.drive == "bipolar" else None
        half = winding.half(1.0)
        supply = bench.supply_volt or USUAL_SUPPLY_VOLT
        rows = []
        for road in roads(winding.leads, half.ohm, half.ampere, half.henry, bench.supply_volt, limit):
            volt = road.supply_volt or supply
            # The road's own torque at its own current, over the resistor's ohms, too, where it has one.
            hold = half.holding_newton_metre * road.torque_relative
            figures = MotorFigures(hold, road.ampere, road.ohm + road.series_ohm, road.henry, half.steps_per_turn / 4)
            reached = min(1.0, volt / (road.ampere * (road.ohm + road.series_ohm)))
            rate = bench.judged_rev_per_second * half.steps_per_turn
            pulled = torque_at(figures, rate, Drive(volt, road.ampere))
            rows.append(RoadPull(road, volt, hold * reached, pulled, half.holding_newton_metre))
        notes = [BASIS, *self.rung(texts), *_notes(winding.leads, bench.supply_volt)]
        if winding.henry is None:
            notes.append("inductance not known: what is usual for such a winding is taken, and speed goes with it")
        from coilbench.driver.clamp import switch_off_joule

        return RoadsAnswer(
            tuple(rows),
            clamps_for(half.ohm, half.henry, half.ampere, supply),
            bench.judged_rev_per_second,
            switch_off_joule(half.henry, half.ampere),
            tuple(notes),
        )


def _notes(leads: int, supply_volt: float | None) -> list[str]:
    notes = []
    if supply_volt is None:
        notes.append(f"no supply told: choppers are reckoned on {USUAL_SUPPLY_VOLT:g} V")
    if leads == 5:
        notes.append(
            "bipolar choppers are all you own? None of them drives five leads as they are. A unipolar stage does, or "
            "a plain bridge in full steps with the common open; a four-, six- or eight-lead motor is the cheaper way"
        )
    return notes


def clamps_for(ohm: float, henry: float, ampere: float, supply_volt: float) -> tuple[Clamp, ...]:
    """Ways to clamp a half of so many ohms and henry, the slowest first."""
    from coilbench.driver.clamp import BODY_DIODE_VOLT, DIODE_VOLT, decay_second

    avalanche = 55.0  # of a switch for 55 V, such as International Rectifier PD-9.1346B describes
    told = [
        ("a diode across each half", DIODE_VOLT, "current lingers and brakes: for slow moves alone"),
        (
            "the other half and its switch's body diode",
            supply_volt + BODY_DIODE_VOLT,
            "what halves wound together do by themselves; the energy goes back into the supply",
        ),
        (
            f"a zener of {2 * supply_volt:.3g} V from the switch to the supply",
            2 * supply_volt + DIODE_VOLT,
            "burns the energy; where the other half can't conduct: blocking diodes, or halves wound apart",
        ),
    ]
    if avalanche > 2 * supply_volt:
        told.append(("the switch's own avalanche, 55 V", avalanche - supply_volt,
                     "only on switches rated for it; same condition as the zener"))  # fmt: skip
    found = [Clamp(name, volt, decay_second(henry, ohm, ampere, volt), remark) for name, volt, remark in told]
    return tuple(sorted(found, key=lambda each: each.volt))
