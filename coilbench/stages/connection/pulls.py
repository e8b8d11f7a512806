"""What each connection pulls on the supply at hand: the rating room's rows put through the motion room's model."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.motion.pullout import MotorFigures
    from coilbench.motion.torque_curve import Drive
    from coilbench.rating.choice import Bench, Choice, Pull, Pulls
    from coilbench.rating.connections import ConnectionRow

_LEAST_RPM = 1.0  # a crossing below it is none


@dataclass(frozen=True, slots=True)
class Half:
    """One half-winding: what is known or usual of it. ``holding_newton_metre`` with two phases on as rated."""

    ohm: float
    ampere: float
    henry: float
    holding_newton_metre: float
    steps_per_turn: float


def pull_of(row: ConnectionRow, half: Half, bench: Bench) -> Pull:
    """What one row pulls, in shares of the half-winding's holding torque. The bench must have a supply."""
    from coilbench.motion.torque_curve import whole_curve
    from coilbench.rating.choice import Pull

    motor, drive = driven(row, half, bench)
    curve = whole_curve(motor, drive)
    reached = min(1.0, drive.supply_volt / (drive.current_ampere * motor.resistance_ohm))
    return Pull(
        at_rest=row.usable_torque * reached,
        at_speed=curve.torque_at(bench.judged_rev_per_second * half.steps_per_turn) / half.holding_newton_metre,
        half_rev_per_second=curve.ends.half_torque_sps / half.steps_per_turn,
        full_current_rev_per_second=curve.ends.full_current_until_sps / half.steps_per_turn,
    )


def pulls_at_speed(rows: tuple[ConnectionRow, ...], half: Half, bench: Bench) -> Pulls:
    """All rows, as ``pull_of`` has them."""
    return {row.connection: pull_of(row, half, bench) for row in rows}


def crossings(choice: Choice, half: Half, bench: Bench) -> list[str]:
    """Where another connection of the same drive overtakes the one chosen, or is ahead of it below some speed."""
    from coilbench.motion.torque_curve import crossing_sps, whole_curve

    chosen = choice.chosen
    mine = whole_curve(*driven(chosen, half, bench))
    found: dict[str, list[str]] = {}
    for row in choice.considered:
        if row is chosen:
            continue
        its = whole_curve(*driven(row, half, bench))
        overtakes = _rpm(crossing_sps(its, mine), half)
        overtaken = _rpm(crossing_sps(mine, its), half)
        if overtakes:
            found.setdefault(f"from about {overtakes} rpm up", []).append(row.connection)
        elif overtaken:
            found.setdefault(f"below about {overtaken} rpm", []).append(row.connection)
    return [
        f"{where} {' and '.join(names)} {'pull' if len(names) > 1 else 'pulls'} more"
        for where, names in found.items()
    ]


def _rpm(rate_sps: float | None, half: Half) -> str:
    """A crossing in two digits; empty where there is none above a creep."""
    rpm = 0.0 if rate_sps is None else 60 * rate_sps / half.steps_per_turn
    return f"{float(f'{rpm:.2g}'):.0f}" if rpm > _LEAST_RPM else ""


def strongest(rows: tuple[ConnectionRow, ...], half: Half, bench: Bench) -> ConnectionRow:
    """The row that pulls most at the speed the bench is judged at."""
    from coilbench.motion.torque_curve import torque_at

    rate = bench.judged_rev_per_second * half.steps_per_turn
    pulled = [torque_at(motor, rate, drive) for motor, drive in (driven(row, half, bench) for row in rows)]
    return rows[pulled.index(max(pulled))]


def driven(row: ConnectionRow, half: Half, bench: Bench) -> tuple[MotorFigures, Drive]:
    """The row's winding and how it is driven, for the motion room's model.

    Without a chopper a series resistor takes what the supply has over, and is part of the resistance.
    """
    from coilbench.motion.pullout import MotorFigures
    from coilbench.motion.torque_curve import Drive
    from coilbench.rating.connections import FACTORS

    assert bench.supply_volt is not None
    ohm = row.ohm if bench.chops else max(row.ohm, bench.supply_volt / row.usable_ampere)
    motor = MotorFigures(
        holding_torque_newton_metre=half.holding_newton_metre * row.torque_relative,
        rated_current_ampere=row.ampere,
        resistance_ohm=ohm,
        inductance_henry=half.henry * FACTORS[row.connection].henry,
        rotor_teeth=half.steps_per_turn / 4,
    )
    return motor, Drive(bench.supply_volt, row.usable_ampere)
