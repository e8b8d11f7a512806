"""The bin's motors as a machine sees them: what is known of each, and what each makes of a driver and a supply."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from coilbench.errors import CoilbenchError, InputProblem, NotEnoughKnown
from coilbench.motion.axis.fit import Proof
from coilbench.motion.pairs import Like
from coilbench.motion.pullout import MotorFigures
from coilbench.motion.rotor import rotor_guess
from coilbench.motion.torque_curve import Drive, torque_at, whole_curve
from coilbench.rating.choice import Bench
from coilbench.rating.connections import FACTORS, ConnectionRow, connection_rows
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.stages import motor
from coilbench.stages.connection.at_hand import AtHand
from coilbench.stages.connection.pulls import driven
from coilbench.stages.connection.stage import HalfWinding
from coilbench.stages.fitness import check_usable
from coilbench.stages.jog.swings import measured_rotor_inertia
from coilbench.winding.engine.fitness import Fitness

BODY_KILOGRAM_PER_METRE3 = 3900.0  # of a hybrid's square and length: 42 x 40 mm weighs 0.28 kg (common practice)
USUAL_MASS_KILOGRAM = 0.3
_USUAL_LENGTH_TIMES = 0.95  # body over face, where nobody measured it
_SAME_SUPPLY = 0.06  # a computer's rail may be 5 % off
_SAME_CURRENT = 0.1


@dataclass(frozen=True)
class Offer:
    """One motor, connected one way to one driver and supply."""

    connection: str
    peak_ampere: float
    ohm: float
    henry: float
    figures: MotorFigures
    drive: Drive
    like: Like
    proof: Proof | None
    kept: str
    chops: bool = True

    def torque_at(self, rate_sps: float) -> float:
        """By the model, newton metre."""
        return torque_at(self.figures, rate_sps, self.drive)

    def good_for_sps(self, newton_metre: float) -> float:
        """The rate in full steps a second up to which it pulls that: by the last trial where that had such a load,
        else by the model, and no faster than the trial found."""
        modelled = whole_curve(self.figures, self.drive).fastest_sps(newton_metre)
        if self.proof is None:
            return modelled
        loaded_so = self.proof.load_newton_metre >= newton_metre
        return self.proof.rate_sps if loaded_so else min(modelled, self.proof.rate_sps)

    @property
    def holding_newton_metre(self) -> float:
        """At rest with both phases on, at the current that is set and reached."""
        reached = min(self.drive.current_ampere, self.drive.supply_volt / self.figures.resistance_ohm)
        return self.figures.holding_torque_newton_metre * reached / self.figures.rated_current_ampere


@dataclass(frozen=True, eq=False)
class BinMotor:
    """A motor of the bin that can be driven."""

    name: str
    known: Facts
    half: HalfWinding
    fit: Fitness

    @property
    def steps_per_turn(self) -> float:
        return self.half.steps_per_turn

    @cached_property
    def _size_metre(self) -> tuple[float | None, float | None]:
        return motor.face_metre(self.known), (self.known.get(Intake) or Intake()).length_metre

    @cached_property
    def rotor_inertia_kilogram_metre2(self) -> float | None:
        """Kept, by its measured swing, or by its size; None where that isn't known either."""
        face, length = self._size_metre
        if (known := self._known_inertia) is not None:
            return known
        if face is None:
            return None
        return rotor_guess(face, length or _USUAL_LENGTH_TIMES * face).inertia_kilogram_metre2

    @cached_property
    def _known_inertia(self) -> float | None:
        ratings = self.known.get(Ratings) or Ratings()
        return ratings.inertia_kilogram_metre2 or measured_rotor_inertia(self.known)

    @cached_property
    def mass_kilogram(self) -> float:
        """By its size; what is usual where that isn't known."""
        face, length = self._size_metre
        if face is None:
            return USUAL_MASS_KILOGRAM
        return BODY_KILOGRAM_PER_METRE3 * face**2 * (length or _USUAL_LENGTH_TIMES * face)

    @property
    def guessed(self) -> tuple[str, ...]:
        """What stands in for a measurement."""
        named = (
            ("inductance", self.half.henry),
            ("torque constant", self.half.holding_per_ampere),
            ("rotor's inertia", self._known_inertia),
        )
        return tuple(what for what, value in named if value is None)

    def offers(self, at_hand: AtHand, kind: str, supply_volt: float, *, fine: bool) -> tuple[Offer, ...]:
        """Every way to connect it to such a driver, which microsteps so finely that the current follows a sine or
        doesn't; none where it can't be."""
        bench = Bench(
            drive="unipolar" if kind == "unipolar" else "bipolar",
            limit_peak_ampere=at_hand.limit_peak_ampere,
            limit_words=at_hand.limit_words,
            supply_volt=supply_volt,
            wanted_rev_per_second=None,
            chops=at_hand.chops,
        )
        rows = connection_rows(
            self.half.leads, self.half.ohm, self.half.ampere, self.half.henry, bench.limit_peak_ampere, self.fit.only
        )
        return tuple(self._offer(row, bench, fine) for row in rows if row.drive == bench.drive)

    def _offer(self, row: ConnectionRow, bench: Bench, fine: bool) -> Offer:
        figures, drive = driven(row, self.half.half(1.0), bench)
        drive = Drive(drive.supply_volt, drive.current_ampere, bench.chops and fine)
        kept = self.known.get(Connection)
        constant = None
        if self.half.holding_per_ampere is not None:
            constant = figures.holding_torque_newton_metre / figures.rated_current_ampere
        return Offer(
            connection=row.connection,
            peak_ampere=row.usable_ampere,
            ohm=row.ohm,
            henry=figures.inductance_henry,
            figures=figures,
            drive=drive,
            like=Like(
                row.ohm,
                self.steps_per_turn,
                None if self.half.henry is None else self.half.henry * FACTORS[row.connection].henry,
                constant,
            ),
            proof=self._proof(row, drive),
            kept="" if kept is None else kept.connection,
            chops=bench.chops,
        )

    def _proof(self, row: ConnectionRow, drive: Drive) -> Proof | None:
        """What the last trials on a driver found, where they were made with this connection, supply and current."""
        kept, jog, driver = self.known.get(Connection), self.known.get(Jog), self.known.get(Driver)
        if jog is None or (kept is not None and kept.connection != row.connection):
            return None
        for each in jog.drives:
            if each.drive.kind != "driver" or each.run_rate_sps is None:
                continue
            with_ = each.found_with.get("run")
            volt = (with_ and with_.supply_volt) or (driver and driver.supply_volt)
            ampere = (with_ and with_.peak_ampere) or (driver and driver.peak_ampere)
            if volt and abs(volt - drive.supply_volt) > _SAME_SUPPLY * volt:
                continue
            if ampere and abs(ampere - drive.current_ampere) > _SAME_CURRENT * ampere:
                continue
            return Proof(each.run_rate_sps, (with_ and with_.load_newton_metre) or 0.0)
        return None


def motors_of(bin: Bin) -> tuple[tuple[BinMotor, ...], tuple[tuple[str, str], ...]]:
    """The motors that can be driven, and the others with the reason."""
    found: list[BinMotor] = []
    left_out: list[tuple[str, str]] = []
    for record in bin.motors():
        try:
            found.append(_motor(record.name, bin.known(record.name)))
        except CoilbenchError as problem:
            left_out.append((record.name, problem.happened))
    return tuple(found), tuple(left_out)


def _motor(name: str, known: Facts) -> BinMotor:
    """Raises CoilbenchError for one that can't be used, or of which too little is known."""
    fit = check_usable(known)
    if Windings.stage not in known:
        raise NotEnoughKnown("its windings are not sorted")
    leads = motor.two_phase_leads(known)
    if leads is None:
        raise InputProblem(f"{motor.arrangement(known).title}: no two-phase motor")
    ratings = known.get(Ratings) or Ratings()
    ohm = ratings.resistance_ohm or motor.half_winding_ohm(known)
    if ohm is None or ratings.current_ampere is None:
        raise NotEnoughKnown("its ohms are not known" if ohm is None else "it is not rated")
    step = motor.step_angle_degree(known) or motor.USUAL_STEP_DEGREE
    half = HalfWinding(
        leads=leads,
        ohm=ohm,
        ampere=ratings.current_ampere,
        henry=motor.half_winding_henry(known),
        holding_per_ampere=motor.rated_holding_per_ampere(known),
        steps_per_turn=360 / step,
        face_metre=motor.face_metre(known),
    )
    connection_rows(leads, ohm, ratings.current_ampere)  # figures that can't be are told here, with the motor's name
    return BinMotor(name, known, half, fit)
