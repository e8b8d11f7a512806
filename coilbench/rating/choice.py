"""Which connection to take for the driver and the supply at hand, and why."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from coilbench.errors import InputProblem
from coilbench.rating.connections import Connection, ConnectionRow, Drive
from coilbench.rating.five_leads import five_lead_notes

# What small step/direction boards carry without a fan: common practice.
USUAL_DRIVER_AMPERE = 2.5
USUAL_REV_PER_SECOND = 2.0  # where connections are held side by side when no speed is wanted: a screw's usual speed
ONLY_LEFT = "all that the motor's fault leaves"
AS_GOOD = 0.97  # torque within this share counts as equal
LITTLE_LEFT = 0.25  # of the torque at rest


@dataclass(frozen=True, slots=True)
class Bench:
    """What is at hand (None: not said): the driver's limit as peak ampere and what that is, the supply, the speed.

    ``chops`` is false for a driver that leaves the current to supply and resistance.
    """

    drive: Drive = "bipolar"
    limit_peak_ampere: float | None = None
    limit_words: str = "the driver carries"
    supply_volt: float | None = None
    wanted_rev_per_second: float | None = None
    chops: bool = True

    @property
    def judged_rev_per_second(self) -> float:
        """The speed at which torque decides."""
        return self.wanted_rev_per_second or USUAL_REV_PER_SECOND


@dataclass(frozen=True, slots=True)
class Pull:
    """What a connection pulls on the supply at hand, in shares of one half-winding's holding torque as rated.

    ``at_rest`` is holding torque, ``at_speed`` pull-out torque at the speed it is judged at. Half of the pull-out
    torque is left at ``half_rev_per_second``; the full current flows until ``full_current_rev_per_second``, 0 where
    the supply doesn't bring it at all.
    """

    at_rest: float
    at_speed: float
    half_rev_per_second: float
    full_current_rev_per_second: float


Pulls = Mapping[Connection, Pull]


@dataclass(frozen=True, slots=True)
class Choice:
    """All rows, the one to take for the driver at hand, why, and what else should be said.

    ``considered`` are those that it was taken from.
    """

    rows: tuple[ConnectionRow, ...]
    choose: Connection
    why: str
    notes: tuple[str, ...]
    considered: tuple[ConnectionRow, ...] = ()

    @property
    def chosen(self) -> ConnectionRow:
        return next(row for row in self.rows if row.connection == self.choose)


def choose_connection(
    leads: int,
    rows: tuple[ConnectionRow, ...],
    bench: Bench,
    pulls: Pulls | None = None,
    *,
    only_left: bool = False,
) -> Choice:
    """The one to take of ``rows``: the one that pulls most at the speed, or at rest while no pulls are known.

    ``only_left`` tells that a fault has left a single one.

    Raises InputProblem for a driver that can't work what there is.
    """
    pulls = pulls or {}
    if leads == 5:
        row = rows[0]
        first, *others = five_lead_notes(row, bench.supply_volt)
        return Choice(rows, row.connection, first, (*others, *_notes(row, bench, leads)))
    fitting = [row for row in rows if row.drive == bench.drive]
    if not fitting and only_left:
        raise InputProblem(f"a fault leaves {rows[0].connection} alone: expected a {rows[0].drive} driver")
    if not fitting:
        raise InputProblem("whole windings on a unipolar driver: expected 5, 6 or 8 leads, a motor with centre taps")
    considered = fitting
    if bench.limit_peak_ampere is None:
        # Not knowing the driver, don't choose what common boards can't carry.
        light = [row for row in fitting if row.ampere <= USUAL_DRIVER_AMPERE]
        considered = light or [min(fitting, key=lambda row: row.ampere)]
    best, why = (fitting[0], ONLY_LEFT) if only_left else _choose(considered, fitting, bench, pulls)
    notes = (*_notes(best, bench, leads), *_too_fast(best, bench, pulls))
    return Choice(rows, best.connection, why, notes, tuple(considered))


def _too_fast(best: ConnectionRow, bench: Bench, pulls: Pulls) -> list[str]:
    """That little is left at the wanted speed, whichever connection it is."""
    pull = pulls.get(best.connection)
    if pull is None or bench.wanted_rev_per_second is None or pull.at_speed > LITTLE_LEFT * pull.at_rest:
        return []
    return [
        f"at {60 * bench.wanted_rev_per_second:.4g} rpm only {pull.at_speed / pull.at_rest:.0%} of its torque at "
        "rest is left: a higher supply voltage helps, or a gear that lets it turn slower"
    ]


def _choose(
    considered: list[ConnectionRow], rows: list[ConnectionRow], bench: Bench, pulls: Pulls
) -> tuple[ConnectionRow, str]:
    if len(rows) == 1:
        row = rows[0]
        if row.connection == "bipolar":
            return row, "four leads: two whole windings, nothing to choose"
        return row, "a unipolar driver switches the halves in turn"

    def strength(row: ConnectionRow) -> float:
        return pulls[row.connection].at_speed if pulls else row.usable_torque

    def quickness(row: ConnectionRow) -> float:
        return pulls[row.connection].half_rev_per_second if pulls else row.quickness

    most = max(map(strength, considered))
    best = max((row for row in considered if strength(row) >= AS_GOOD * most), key=quickness)
    if not pulls:
        return best, _why_at_rest(best, rows, bench)
    heavy = [f"{row.connection} ({row.ampere:.3g} A)" for row in rows if row not in considered]
    left_out = f"; left out as common boards don't carry it: {', '.join(heavy)}, say your driver" if heavy else ""
    return best, _why_at_speed(best, considered, bench, pulls) + left_out


def _why_at_speed(best: ConnectionRow, rows: list[ConnectionRow], bench: Bench, pulls: Pulls) -> str:
    speed = f"{60 * bench.judged_rev_per_second:.3g} rpm"
    usual = "" if bench.wanted_rev_per_second else ", a usual speed (no target speed is given yet),"
    others = [f"{row.connection} {pulls[row.connection].at_speed:.2f}" for row in rows if row is not best]
    said = f"at {speed}{usual} on {bench.supply_volt:.3g} V it pulls {pulls[best.connection].at_speed:.2f}"
    of = "of one half-winding's holding torque"
    beside = f", {', '.join(others)}" if others else ""
    return f"{said} {of}{beside}"


def _why_at_rest(best: ConnectionRow, rows: list[ConnectionRow], bench: Bench) -> str:
    limit = bench.limit_peak_ampere
    room = "" if limit is None else f"the {limit:.3g} A that {bench.limit_words}"
    parallel = next((row for row in rows if row.connection == "parallel"), None)
    if best.connection == "parallel":
        carried = (
            f"within {room}: {best.usable_ampere:.3g} A" if limit else "a common driver board carries its current"
        )
        return f"{carried}; as strong as series and twice as fast for the same supply"
    if best.connection == "series":
        if parallel is not None and limit is not None:
            return (
                f"most torque within {room}: parallel would need {parallel.ampere:.3g} A, "
                f"series {best.ampere:.3g} A for the same torque"
            )
        if parallel is not None:
            return (
                f"{best.ampere:.3g} A suits common driver boards; parallel is as strong and twice as fast, "
                f"if your driver carries {parallel.ampere:.3g} A"
            )
        return f"1.41 times the half-coil's torque at only {best.ampere:.3g} A; half-coil is faster, with less torque"
    if limit is not None and best.usable_ampere < best.ampere:
        return f"the best of them within {room}"
    return "least inductance for its current: fast, with 0.71 of the torque of series"


def _notes(best: ConnectionRow, bench: Bench, leads: int) -> list[str]:
    notes, volt = [], best.usable_ampere * best.ohm
    if best.usable_ampere < best.ampere and bench.limit_peak_ampere is not None:
        notes.append(
            f"the {bench.limit_peak_ampere:.3g} A that {bench.limit_words} leave {best.usable_ampere:.3g} of "
            f"{best.ampere:.3g} A, {100 * best.usable_ampere / best.ampere:.0f} % of the torque"
        )
    supply = bench.supply_volt
    if supply is None:
        return notes
    if not bench.chops and supply > volt:
        resistor = (supply - volt) / best.usable_ampere
        heat = best.usable_ampere**2 * resistor
        each = f"{resistor:.3g} ohm in series with each winding that is on ({heat:.2g} W)"
        if leads == 5:
            each = f"{resistor / 2:.3g} ohm in the one common lead ({2 * heat:.2g} W), or {resistor:.3g} in each end"
        notes.append(
            f"this driver limits no current: on {supply:.3g} V it takes about {each}, less the driver's own drop"
        )
    elif supply < volt:
        notes.append(
            f"the supply of {supply:.3g} V brings only {supply / best.ohm:.3g} of {best.usable_ampere:.3g} A through "
            f"{best.ohm:.3g} ohm: there is no speed with the full current"
        )
    elif bench.chops and supply < 2 * volt:
        notes.append(
            f"the supply of {supply:.3g} V is under twice the {volt:.3g} V the coil takes at rest: "
            "the chopper has little to work with"
        )
    return notes
