"""``coilbench vref``: the driver's reference voltage for a current, and back."""

from __future__ import annotations

import argparse
import re
from dataclasses import replace

from coilbench.cli.motor_facts import MotorFacts, add_motor_arguments, quantity
from coilbench.cli.output import inert, note, print_json, print_table
from coilbench.driver import reference_voltage as reference
from coilbench.driver.catalogue import all_chips, by_gain, find, is_known
from coilbench.driver.chip import Chip
from coilbench.driver.finding import Judgement, Situation
from coilbench.driver.findings import judge
from coilbench.driver.motor import KnownMotor, known_motor
from coilbench.driver.report import finding_lines, result_object, saved_fact, set_rows, to_do
from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.quantity import format_quantity, parse_marking, parse_quantity
from coilbench.records.own_chips import own_chips, own_chips_path

HELP = "The driver's reference voltage for a current, and back. Figures take units."

_CURRENT_RANGE_AMPERE = (0.001, reference.MOST_AMPERE)
_SENSE_RANGE_OHM = (0.001, 20.0)
_VREF_RANGE_VOLT = (0.001, 12.0)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The chip and its resistor, what is wanted or was measured, and what it is to drive."""
    add = parser.add_argument
    add("--chip", metavar="NAME", help="the driver chip, such as DRV8825")
    add("--sense", metavar="MARK", help="the board's sense resistor: its marking (R100, 0R1) or value (0.1 ohm)")
    which = parser.add_mutually_exclusive_group()
    which.add_argument(
        "--current", metavar="A", help="peak current wanted, such as '0.8 A': the rated one, two phases on"
    )
    which.add_argument("--vref", metavar="V", help="reference voltage measured, such as '0.4 V'")
    which.add_argument("--resistor", metavar="OHM", help="resistor on the set pin, for chips that have no reference")
    add("--rms", action="store_true", help="the current given is RMS, not peak")
    add("--full-step", action="store_true", help="full step: the current given is for each coil with both on")
    add("--microsteps", metavar="N", help="microsteps to a full step, such as 16")
    add("--supply", metavar="V", help="the motor supply, such as 12V")
    add("--coil", metavar="OHM", help="resistance of one coil as connected, such as '34 ohm'")
    add("--inductance", metavar="H", help="inductance of one coil as connected, such as 20mH")
    add("--gain", metavar="N", help="for a chip not in the table: peak = VREF / (N x sense resistor), such as 8")
    add("--torque", metavar="%", help="share set by the chip's torque pins, such as 50%%")
    add("--decay", choices=("slow", "mixed", "fast"), help="how the board straps the decay pin")
    add("--trimmer", metavar="V", help="the voltage at the trimmer's far end, such as 3.3V")
    add("--logic", metavar="V", help="the controller's logic level, such as 3.3V")
    add("--ambient", metavar="C", help="air around the driver, such as 40C")
    add("--list", nargs="?", const="chips", choices=("chips",), help="list the chips known")
    add_motor_arguments(parser, "the setting")


def run(args: argparse.Namespace) -> int:
    """Work the setting out and judge it; return the exit status."""
    own = own_chips()
    if args.list:
        _list_chips(all_chips(own), as_json=args.json)
        return 0
    facts = MotorFacts.of(args)
    facts.check_usable()
    known = _motor(facts, args)
    chip = _chip(args, own)
    situation = _situation(args, chip, known)
    judgement = judge(situation)
    if args.sense is not None and situation.setting.sense_ohm is None and not args.json:
        note(f"--sense is not used: the current of {chip.chip} does not depend on an outside resistor")
    if args.save and not judgement.stops:
        MotorFacts.put(args, "driver", saved_fact(situation))
    _print(args, situation, judgement)
    if args.save and judgement.stops:
        raise InputProblem(f"not kept with {args.motor!r}: {judgement.stops[0].text}")
    return 0


def _print(args: argparse.Namespace, situation: Situation, judgement: Judgement) -> None:
    if args.json:
        print_json(result_object(situation, judgement))
        return
    trimmer = quantity(args.trimmer, "--trimmer", "volt")
    first, *others = set_rows(situation, judgement, trimmer)
    print_table(first, others)
    for heading, lines in (("findings", finding_lines(judgement)), to_do(situation, judgement)):
        print(f"\n{heading}")
        for line in lines:
            print(f"  {inert(line)}")


def _motor(facts: MotorFacts, args: argparse.Namespace) -> KnownMotor:
    known = known_motor(facts.stages)
    given = (args.current, args.vref, args.resistor)
    if args.motor is not None and known.current_ampere is None and all(each is None for each in given):
        raise NotEnoughKnown(f"no current is known for {args.motor!r}", remedy="rate it first, or give --current")
    if known.basis and not args.json:
        note(f"from {known.basis}")
    return known


def _chip(args: argparse.Namespace, own: tuple[Chip, ...]) -> Chip:
    if args.gain is not None:
        if args.chip is not None and is_known(args.chip, own):
            raise InputProblem(f"{args.chip} is in the table with its own gain", remedy="leave out --gain")
        chip = by_gain(args.chip or "own chip", _number(args.gain, "--gain", "a gain such as 5 or 8"))
    elif args.chip is None:
        raise InputProblem("no chip named", remedy="give --chip NAME (see --list), or --gain and --sense")
    else:
        chip = find(args.chip, own)
    return chip if args.decay is None else replace(chip, decay=args.decay)


def _situation(args: argparse.Namespace, chip: Chip, known: KnownMotor) -> Situation:
    return Situation(
        setting=_setting(args, chip, known),
        supply_volt=quantity(args.supply, "--supply", "volt"),
        coil_ohm=quantity(args.coil, "--coil", "ohm") or known.coil_ohm,
        inductance_henry=quantity(args.inductance, "--inductance", "henry") or known.inductance_henry,
        microsteps=_microsteps(args.microsteps),
        full_step=args.full_step,
        logic_volt=quantity(args.logic, "--logic", "volt"),
        connection=known.connection,
        half_winding=known.half_winding and args.current is None,
        ambient_celsius=_ambient(args.ambient),
    )


def _setting(args: argparse.Namespace, chip: Chip, known: KnownMotor) -> reference.Setting:
    sense = None if args.sense is None else _sense(args.sense)
    torque = 1.0 if args.torque is None else parse_quantity(args.torque, "percent", bare=True) / 100
    if not 0 < torque <= 1:
        raise InputProblem(f"a torque share of {args.torque!r} is over 100 %, expected one such as 50%")
    vref = quantity(args.vref, "--vref", "volt")
    resistor = quantity(args.resistor, "--resistor", "ohm")
    current = quantity(args.current, "--current", "ampere") or known.current_ampere
    if vref is not None:
        _check_range(vref, "volt", _VREF_RANGE_VOLT, "a reference voltage")
        return reference.read_vref(chip, vref, sense, torque)
    if resistor is not None:
        return reference.read_resistor(chip, resistor)
    if current is None:
        return reference.fixed_setting(chip, sense, torque)
    _check_range(current, "ampere", _CURRENT_RANGE_AMPERE, "a current of these drivers")
    if args.rms:
        current *= reference.SQRT2
    if args.full_step:
        current = reference.peak_for_full_step(chip, current)
    return reference.set_peak(chip, current, sense, torque)


def _ambient(text: str | None) -> float:
    celsius = quantity(text, "--ambient", "celsius")
    if celsius is None:
        return 40.0
    if not -60 <= celsius <= 150:
        raise InputProblem(f"--ambient {text!r}, expected air of -60 to 150 C")
    return celsius


def _sense(text: str) -> float:
    ohm = parse_marking(text)
    _check_range(ohm, "ohm", _SENSE_RANGE_OHM, "a sense resistor")
    return ohm


def _check_range(value: float, unit: str, bounds: tuple[float, float], what: str) -> None:
    if not bounds[0] <= value <= bounds[1]:
        low, high = (format_quantity(bound, unit) for bound in bounds)
        raise InputProblem(f"{format_quantity(value, unit)} is not {what}, expected {low} to {high}")


def _microsteps(text: str | None) -> int | None:
    if text is None:
        return None
    match = re.fullmatch(r"\s*(?:1/)?([0-9]{1,3})\s*", text)
    steps = int(match[1]) if match else 0
    if not 1 <= steps <= 256:
        raise InputProblem(f"--microsteps {text!r}, expected a whole number of 1 to 256 such as 16")
    return steps


def _number(text: str, option: str, expected: str) -> float:
    try:
        return float(text.replace(",", "."))
    except ValueError:
        raise InputProblem(f"{option} {text!r} is not a number, expected {expected}") from None


def _list_chips(chips: tuple[Chip, ...], *, as_json: bool) -> None:
    if as_json:
        print_json(
            {
                "chips": [
                    {"chip": each.chip, "motor": each.motor, "formula": each.formula_text, "verified": each.verified}
                    | {"status": each.status, "source": each.document}
                    for each in chips
                ]
            }
        )
        return
    note(f"your own rows: {own_chips_path()}")
    words = {"verified": "verified", "memory": "NOT verified", "own": "own row"}
    rows = [
        (
            each.chip,
            each.motor,
            each.formula_text or "not known",
            "" if each.max_ampere is None else f"{each.max_ampere:g} A {each.max_kind}",
            "" if each.supply_max_volt is None else f"{each.supply_max_volt:g} V",
            words[each.status],
        )
        for each in chips
    ]
    print_table(("chip", "motor", "current", "most", "supply to", "figures"), rows)
