"""``coilbench connect``: the ways to connect a motor, side by side, and which to take."""

from __future__ import annotations

import argparse
from typing import Any

from coilbench.cli.motor_facts import MotorFacts, add_motor_arguments, lead_count, quantity
from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.quantity import format_quantity, parse_quantity
from coilbench.rating.connections import CONVENTION, Bench, Choice, ConnectionRow, compare_connections
from coilbench.rating.spin import check_step_angle
from coilbench.rating.wiring import (
    Phase,
    connection_fact,
    deciding_test,
    draw_connection,
    idle_leads,
    phases_known,
    wires,
)

HELP = "The ways to connect a motor side by side, which to take, and why. Figures take units."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The motor's half-winding, and what is at hand to drive it."""
    parser.add_argument("--leads", metavar="N", help="4, 5, 6 or 8")
    parser.add_argument("--coil", metavar="OHMS", help="per half-winding (per coil for 4 leads)")
    parser.add_argument("--current", metavar="AMPERES", help="per half-winding, two phases on")
    parser.add_argument("--inductance", metavar="HENRY", help="per half-winding")
    parser.add_argument("--chip", metavar="NAME", help="the driver's chip, for its kind and limit")
    parser.add_argument("--drive", choices=("bipolar", "unipolar"), help="what the driver is (bipolar)")
    parser.add_argument("--driver-max", metavar="AMPERES", help="the most the driver carries, peak")
    parser.add_argument("--supply", metavar="VOLTS", help="motor supply, for the speed limit")
    parser.add_argument("--speed", metavar="RPM", help="speed the shaft must reach")
    parser.add_argument("--step-angle", metavar="ANGLE", help="(1.8 deg)")
    parser.add_argument("--ascii", action="store_true", help="draw with plain letters")
    add_motor_arguments(parser, "the chosen connection")


def run(args: argparse.Namespace) -> int:
    """Compare the connections; return the exit status."""
    facts = MotorFacts.of(args)
    fit = facts.check_usable()
    ratings = facts.stage("ratings")
    leads = lead_count(args.leads) or facts.leads
    coil = quantity(args.coil, "--coil", "ohm") or facts.coil_ohm or ratings.get("resistance_ohm")
    current = quantity(args.current, "--current", "ampere") or ratings.get("current_ampere")
    missing = [
        f"{what} ({option})"
        for what, option, value in (
            ("how many leads", "--leads", leads),
            ("the half-winding's ohms", "--coil", coil),
            ("its current", "--current", current),
        )
        if value is None
    ]
    if missing or leads is None or coil is None or current is None:
        raise NotEnoughKnown(f"not known: {', '.join(missing)}", remedy="give them, or sort and rate the motor first")
    angle = _angle(args, facts)
    choice = compare_connections(
        leads,
        coil,
        current,
        quantity(args.inductance, "--inductance", "henry") or ratings.get("inductance_henry"),
        _bench(args, facts),
        360 / angle,
        fit.only,
    )
    phases = phases_known(facts.stage("windings"), facts.stage("order"))
    idle = idle_leads(facts.stage("windings"))
    if args.save:
        facts.put(args, "connection", connection_fact(choice.chosen, phases, idle))
    result = _object(choice, phases, idle, leads)
    if fit.line:
        result["notes"].insert(0, fit.line)
    if args.json:
        print_json(result)
    else:
        _print(choice, phases, idle, result, ascii=args.ascii)
    return 0


def _bench(args: argparse.Namespace, facts: MotorFacts) -> Bench:
    drive, most = args.drive, quantity(args.driver_max, "--driver-max", "ampere")
    name = args.chip or facts.stage("driver").get("chip")
    if name and (drive is None or most is None):
        from coilbench.driver.catalogue import find
        from coilbench.records.own_chips import own_chips

        try:
            chip = find(name, own_chips())
        except InputProblem:
            if args.chip:
                raise
        else:
            drive = drive or ("unipolar" if chip.motor == "unipolar" else "bipolar")
            most = most if most is not None else chip.most_peak_ampere
    return Bench(
        drive=drive or "bipolar",
        driver_peak_ampere=most,
        supply_volt=quantity(args.supply, "--supply", "volt"),
        wanted_rev_per_second=quantity(args.speed, "--speed", "hertz"),
    )


def _angle(args: argparse.Namespace, facts: MotorFacts) -> float:
    if args.step_angle is not None:
        return check_step_angle(parse_quantity(args.step_angle, "degree", bare=True))
    return facts.step_angle_degree or 1.8


def _object(choice: Choice, phases: tuple[Phase, ...], idle: tuple[str, ...], leads: int) -> dict[str, Any]:
    return {
        "rows": [
            {
                "connection": row.connection,
                "drive": row.drive,
                "amp": row.ampere,
                "rms_amp": row.ampere,
                "equal_heat_peak_amp": row.equal_heat_peak_ampere,
                "ohm": row.ohm,
                "henry": row.henry,
                "volt": row.volt,
                "watt": row.watt,
                "torque_relative": row.torque_relative,
                "speed_limit_rev_per_second": row.speed_limit_rev_per_second,
                "usable_amp": row.usable_ampere,
                "usable_torque_relative": row.usable_torque,
                "wiring": [
                    {"to": wire.where, "leads": list(wire.leads)} for wire in wires(row.connection, phases, idle)
                ],
            }
            for row in choice.rows
        ],
        "choose": choice.choose,
        "why": choice.why,
        "convention": CONVENTION,
        "test": None if phases else deciding_test(leads),
        "notes": list(choice.notes),
    }


def _columns(row: ConnectionRow, *, chosen: bool) -> dict[str, str]:
    """A row's cells by their headings; empty where there is nothing to say."""
    limit = row.speed_limit_rev_per_second
    return {
        "connection": ("> " if chosen else "  ") + row.connection,
        "RMS": format_quantity(row.ampere, "ampere"),
        "sine peak": format_quantity(row.equal_heat_peak_ampere, "ampere"),
        "ohms": format_quantity(row.ohm, "ohm"),
        "henry": format_quantity(row.henry, "henry") if row.henry is not None else "",
        "volts": format_quantity(row.volt, "volt"),
        "heat": format_quantity(row.watt, "watt"),
        # Counted against one half-winding: whole windings have nothing to be counted against.
        "torque": "" if row.connection == "bipolar" else f"{row.torque_relative:.2f}",
        "limit 1/min": f"{60 * limit:.0f}" if limit is not None else "",
    }


def _print(
    choice: Choice, phases: tuple[Phase, ...], idle: tuple[str, ...], result: dict[str, Any], *, ascii: bool
) -> None:
    columns = [_columns(row, chosen=row.connection == choice.choose) for row in choice.rows]
    told = [name for name in columns[0] if any(row[name] for row in columns)]
    print_table(told, [[row[name] for name in told] for row in columns])
    print(f"\ntake {choice.choose}: {choice.why}")
    for line in result["notes"]:
        print(f"- {line}")
    print(f"\n{CONVENTION}")
    if phases:
        print()
        laid = wires(choice.choose, phases, idle)
        print_table(("wiring", "leads"), [(wire.where, " + ".join(wire.leads)) for wire in laid])
        print()
        print_table(("drawing",), [(line,) for line in draw_connection(choice.choose, phases, ascii=ascii)])
        note("caution: never plug or unplug the motor while the driver's supply is on")
    elif result["test"]:
        print(f"\n{result['test']}")
