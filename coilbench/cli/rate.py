"""``coilbench rate``: what current a motor can take, from its size, its label, a hot soak, or a spun shaft."""

from __future__ import annotations

import argparse
import re
from typing import Any

from coilbench.cli.motor_facts import MotorFacts, add_motor_arguments, lead_count, quantity
from coilbench.cli.output import note, print_json, print_table
from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.quantity import format_quantity, parse_quantity, parse_reading
from coilbench.rating.copper import COPPER_KELVIN, ROOM_CELSIUS
from coilbench.rating.current import LEAST_RISE_KELVIN, MOST_RISE_KELVIN, usual_rise_kelvin
from coilbench.rating.frames import Body, body_of
from coilbench.rating.label import read_label
from coilbench.rating.rate import Known, Rating, convention, rate, rating_fact, rating_object
from coilbench.rating.soak import Soak, SoakResult, current_for_wanted_rise, judge_soak, parse_cooling, usual_step_ohm
from coilbench.rating.spin import (
    DETENT_NOTES,
    USUAL_AC_LIMIT_HERTZ,
    Spin,
    check_step_angle,
    drill_limit_rev_per_minute,
    inductance_from_time_constant,
    judge_spin,
    step_angle_from_count,
)

HELP = "What current a motor can take: from its size, its label, a hot soak, a spun shaft. Figures take units."

_CONSTANTS: dict[str, float] = {str(name): kelvin for name, kelvin in COPPER_KELVIN.items()}
_CONSTANTS |= {f"{kelvin:g}": kelvin for kelvin in COPPER_KELVIN.values()}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Options in groups, by where the figures come from."""
    size = parser.add_argument_group("size")
    size.add_argument("--frame", help='"NEMA 17", "17", "42mm", "35mm can"')
    size.add_argument("--diameter", metavar="LENGTH", help="of a round can")
    size.add_argument("--length", metavar="LENGTH", help="of the body, without the shaft")
    size.add_argument("--coil", metavar="OHMS", help="cold; per coil, for 5, 6 and 8 leads per half-winding")
    size.add_argument("--leads", metavar="N", help="4, 5, 6 or 8: says whether coils or half-windings are meant")
    size.add_argument("--rise", metavar="KELVIN", help="winding rise wanted (80 K, round cans 40 K)")
    label = parser.add_argument_group("label and counts")
    label.add_argument("--label", metavar="TEXT", help='what is printed, such as "12V 75 ohm"')
    label.add_argument("--step-angle", metavar="ANGLE")
    label.add_argument("--steps", metavar="N", help="steps (or detents felt) counted")
    label.add_argument("--turns", metavar="N", default="1", help="turns they were counted over (1)")
    label.add_argument("--detents", choices=sorted(DETENT_NOTES), help="how the shaft feels, all leads apart")
    label.add_argument("--inductance", metavar="HENRY")
    label.add_argument("--time-constant", metavar="TIME", help="to 63 %% of the final current")
    soak = parser.add_argument_group("hot soak")
    soak.add_argument("--cold", metavar="OHMS", help="before the run")
    soak.add_argument("--cold-temp", metavar="TEMP", help="of the cold motor (25 C)")
    soak.add_argument("--hot", metavar="OHMS", help="as the current is switched off")
    soak.add_argument("--ambient", metavar="TEMP", help="of the room at the end of the run (as the cold motor)")
    soak.add_argument("--cooling", metavar="LIST", help='readings after switching off, "30s:3.55,60s:3.5"')
    soak.add_argument("--probes", metavar="OHMS", help="what the probes read held together")
    soak.add_argument("--meter-step", metavar="OHMS", help="the meter's last digit (0.1 ohm)")
    soak.add_argument("--constant", choices=sorted(_CONSTANTS), default="iec", help="235 (iec) or 234.5 (ieee)")
    soak.add_argument("--current", metavar="AMPERES", help="per coil during the run")
    spin = parser.add_argument_group("spun shaft")
    spin.add_argument("--spin-volts", metavar="VOLTS", help="AC volts across one coil (half-winding), RMS")
    spin.add_argument("--spin-frequency", metavar="HERTZ", help="that the meter shows with it")
    spin.add_argument("--drill", metavar="RPM", help="or the drill's speed")
    spin.add_argument("--meter-limit", metavar="HERTZ", help="where the meter's AC range ends (400 Hz)")
    add_motor_arguments(parser, "the rating")


def run(args: argparse.Namespace) -> int:
    """Rate the motor; return the exit status."""
    facts = MotorFacts.of(args)
    fit = facts.check_usable()
    coil_ohm = quantity(args.coil, "--coil", "ohm") or facts.coil_ohm
    leads = lead_count(args.leads) or facts.leads
    angle, angle_notes = _step_angle(args, facts)
    soak, soak_fact = _soak(args)
    if soak is not None and not _has_size(args) and facts.body is None:
        return _print_soak(soak_fact, args)
    known = Known(
        coil_ohm=coil_ohm if coil_ohm is not None else (soak_fact or {}).get("cold_ohm"),
        body=_body(args, facts),
        rise_kelvin=_rise(args),
        cold_celsius=_celsius(args.cold_temp, "--cold-temp", ROOM_CELSIUS),
        label=read_label(args.label) if args.label is not None else facts.label,
        step_angle_degree=angle,
        inductance_henry=_inductance(args, coil_ohm) or facts.stage("ratings").get("inductance_henry"),
        spin=_spin(args, angle),
        soaked_ampere=(soak_fact or {}).get("current_for_rise_amp"),
    )
    if known.body is None and known.coil_ohm is None and known.label is None:
        return _print_counts(known, args, angle_notes)
    rating = rate(known)
    result = rating_object(rating)
    result["convention"] = convention(leads)
    detents = DETENT_NOTES[args.detents] if args.detents else None
    result["notes"] = [each for each in (fit.line, *result["notes"], *angle_notes, detents) if each]
    if soak_fact is not None:
        result["hot_soak"] = soak_fact
    if angle is not None:
        result["drill_limit_rpm"] = drill_limit_rev_per_minute(angle, _meter_limit(args))
    if args.save:
        facts.put(args, "ratings", rating_fact(rating))
    if args.json:
        print_json(result)
    else:
        _print_rating(rating, result)
    return 0


def _has_size(args: argparse.Namespace) -> bool:
    return any(each is not None for each in (args.frame, args.diameter, args.length, args.coil, args.label))


def _body(args: argparse.Namespace, facts: MotorFacts) -> Body | None:
    length = quantity(args.length, "--length", "metre")
    if args.frame is None and args.diameter is None:
        return facts.body.with_length(length) if facts.body and length else facts.body
    return body_of(args.frame, quantity(args.diameter, "--diameter", "metre"), length)


def _rise(args: argparse.Namespace) -> float | None:
    rise = quantity(args.rise, "--rise", "kelvin")
    if rise is not None and not LEAST_RISE_KELVIN <= rise <= MOST_RISE_KELVIN:
        raise InputProblem(f"--rise {args.rise!r}: expected {LEAST_RISE_KELVIN:g} to {MOST_RISE_KELVIN:g} K")
    return rise


def _celsius(text: str | None, option: str, otherwise: float) -> float:
    if text is None:
        return otherwise
    value = parse_quantity(text, "celsius", positive=False)
    if not -40 <= value <= 100:
        raise InputProblem(f"{option} {text!r}: expected a room's temperature, -40 to 100 C")
    return value


def _step_angle(args: argparse.Namespace, facts: MotorFacts) -> tuple[float | None, tuple[str, ...]]:
    if args.steps is not None:
        if args.step_angle is not None:
            raise InputProblem("--steps and --step-angle: expected one of them")
        return step_angle_from_count(_count(args.steps, "--steps"), _number(args.turns, "--turns"))
    if args.step_angle is not None:
        return check_step_angle(parse_quantity(args.step_angle, "degree", bare=True)), ()
    if args.label is not None and (printed := read_label(args.label).step_angle_degree):
        return printed, ()
    return facts.step_angle_degree, ()


def _count(text: str, option: str) -> int:
    if not re.fullmatch(r"[0-9]{1,5}", text.strip()) or int(text) == 0:
        raise InputProblem(f"{option} {text!r}: expected a whole number of steps, 4 to 99999")
    return int(text)


def _number(text: str, option: str) -> float:
    if not re.fullmatch(r"[0-9]{1,3}([.,][0-9]{1,3})?", text.strip()) or float(text.replace(",", ".")) == 0:
        raise InputProblem(f"{option} {text!r}: expected a number of turns above zero")
    return float(text.replace(",", "."))


def _inductance(args: argparse.Namespace, coil_ohm: float | None) -> float | None:
    henry = quantity(args.inductance, "--inductance", "henry")
    constant = quantity(args.time_constant, "--time-constant", "second")
    if constant is None:
        return henry
    if henry is not None:
        raise InputProblem("--inductance and --time-constant: expected one of them")
    if coil_ohm is None:
        raise NotEnoughKnown("a time constant needs the coil's ohms", remedy="give --coil too")
    return inductance_from_time_constant(constant, coil_ohm)


def _meter_limit(args: argparse.Namespace) -> float:
    return quantity(args.meter_limit, "--meter-limit", "hertz") or USUAL_AC_LIMIT_HERTZ


def _spin(args: argparse.Namespace, angle: float | None) -> Spin | None:
    volt = quantity(args.spin_volts, "--spin-volts", "volt")
    frequency = quantity(args.spin_frequency, "--spin-frequency", "hertz")
    drill = quantity(args.drill, "--drill", "hertz")
    if volt is None:
        if frequency is not None or drill is not None:
            raise InputProblem("a spun shaft without its volts: expected --spin-volts too")
        return None
    if angle is None:
        raise NotEnoughKnown("a spun shaft needs the step angle", remedy="give --step-angle or --steps")
    return judge_spin(volt, angle, frequency, drill)


def _soak(args: argparse.Namespace) -> tuple[SoakResult | None, dict[str, Any] | None]:
    if args.hot is None and args.cooling is None:
        if args.cold is not None:
            raise NotEnoughKnown("a cold reading alone", remedy="give the hot one too, --hot or --cooling")
        return None, None
    cold_text = args.cold if args.cold is not None else args.coil
    if cold_text is None:
        raise NotEnoughKnown("a hot reading needs the cold one", remedy="give --cold too")
    cold = parse_quantity(cold_text, "ohm")
    cold_celsius = _celsius(args.cold_temp, "--cold-temp", ROOM_CELSIUS)
    step = quantity(args.meter_step, "--meter-step", "ohm")
    soak = Soak(
        cold_ohm=cold,
        cold_celsius=cold_celsius,
        ambient_celsius=_celsius(args.ambient, "--ambient", cold_celsius),
        hot_ohm=quantity(args.hot, "--hot", "ohm"),
        cooling=parse_cooling(args.cooling) if args.cooling is not None else (),
        step_ohm=step or usual_step_ohm([cold_text, *([args.hot] if args.hot else [])]),
        probes_ohm=parse_reading(args.probes) if args.probes is not None else None,
        constant_kelvin=_CONSTANTS[args.constant],
    )
    result = judge_soak(soak)
    fact: dict[str, Any] = {
        "winding_celsius": result.winding_celsius,
        "rise_kelvin": result.rise_kelvin,
        "thermal_class": result.thermal_class,
        "plus_minus_kelvin": result.plus_minus_kelvin,
        "switch_off_ohm": result.off_ohm,
        "cold_ohm": cold,
        "probes_left_in_kelvin": result.probes_kelvin,
        "time_constant_second": result.time_constant_second,
        "constant_kelvin": soak.constant_kelvin,
        "notes": list(result.notes),
    }
    current = quantity(args.current, "--current", "ampere")
    if current is not None:
        wanted = _rise(args) or usual_rise_kelvin(body_of(args.frame, quantity(args.diameter, "--diameter", "metre")))
        fact["wanted_rise_kelvin"] = wanted
        fact["current_for_rise_amp"] = current_for_wanted_rise(
            current, result.rise_kelvin, wanted, soak.ambient_celsius, soak.constant_kelvin
        )
    return result, fact


def _print_soak(fact: dict[str, Any] | None, args: argparse.Namespace) -> int:
    assert fact is not None
    if args.save:
        raise InputProblem("a hot soak alone makes no rating to save: give --coil or --frame as well")
    if args.json:
        print_json(fact)
        return 0
    rows = [
        ("winding", f"{fact['winding_celsius']:.0f} °C"),
        ("rise", f"{fact['rise_kelvin']:.0f} K ± {fact['plus_minus_kelvin']:.0f} K"),
        ("thermal class needed", f"{fact['thermal_class'] or 'above H'} (by rise, at 40 °C ambient)"),
        ("at switch-off", format_quantity(fact["switch_off_ohm"], "ohm")),
    ]
    if "current_for_rise_amp" in fact:
        amp = format_quantity(fact["current_for_rise_amp"], "ampere")
        rows.append((f"for {fact['wanted_rise_kelvin']:g} K", f"{amp} per coil"))
    print_table(("hot soak", ""), rows)
    for line in fact["notes"]:
        note(line)
    return 0


def _print_counts(known: Known, args: argparse.Namespace, notes: tuple[str, ...]) -> int:
    """Nothing to rate a current by: what counting and spinning tell alone."""
    if known.step_angle_degree is None:
        raise NotEnoughKnown(
            "no current can be given", remedy="give --coil with --frame or --diameter, or --label, or a hot soak"
        )
    current = quantity(args.current, "--current", "ampere")
    result: dict[str, Any] = {
        "step_angle_degree": known.step_angle_degree,
        "steps_per_turn": 360 / known.step_angle_degree,
        "torque_constant": known.spin.torque_constant if known.spin else None,
        "back_emf_rms_volt_second": known.spin.back_emf_rms if known.spin else None,
        "holding_torque_newton_metre": known.spin.holding_torque(current) if known.spin and current else None,
        "drill_limit_rpm": drill_limit_rev_per_minute(known.step_angle_degree, _meter_limit(args)),
        "notes": list(notes),
    }
    if args.json:
        print_json(result)
        return 0
    rows = [
        ("step angle", f"{known.step_angle_degree:.4g}°, {result['steps_per_turn']:.4g} steps a turn"),
        ("meter's AC range ends", f"at {result['drill_limit_rpm']:.0f} turns a minute of the drill"),
    ]
    if known.spin:
        rows.append(("torque constant", f"{known.spin.torque_constant:.3g} N·m/A, one coil"))
    if result["holding_torque_newton_metre"]:
        torque = format_quantity(result["holding_torque_newton_metre"], "newton_metre")
        rows.append(("holding torque", f"{torque}, two phases on"))
    print_table(("counted and spun", ""), rows)
    for line in notes:
        note(line)
    return 0


def _print_rating(rating: Rating, result: dict[str, Any]) -> None:
    def amp(value: float) -> str:
        return format_quantity(value, "ampere")

    rows = [
        ("start with", amp(rating.start_ampere)),
        ("estimate", f"{amp(rating.estimate_ampere)} for a rise of {rating.rise_kelvin:g} K"),
        ("range", f"{amp(rating.low_ampere)} to {amp(rating.high_ampere)}"),
    ]
    if rating.step_angle_degree is not None:
        rows.append(("step angle", f"{rating.step_angle_degree:.4g}°"))
        rows.append(("meter's AC range ends", f"at {result['drill_limit_rpm']:.0f} turns a minute of the drill"))
    if rating.inductance_henry is not None:
        rows.append(("inductance", format_quantity(rating.inductance_henry, "henry")))
    if rating.holding_torque_newton_metre is not None:
        torque = format_quantity(rating.holding_torque_newton_metre, "newton_metre")
        rows.append(("holding torque", f"about {torque} at the estimate, two phases on"))
    if "hot_soak" in result:
        fact = result["hot_soak"]
        rows.append(("winding in the soak", f"{fact['winding_celsius']:.0f} °C, rise {fact['rise_kelvin']:.0f} K"))
    rows.append(("currents are", result["convention"]))
    rows += [("from", line) for line in rating.basis]
    if rating.missing:
        rows.append(("not known", ", ".join(rating.missing)))
    print_table(("rating", ""), rows)
    for line in [*result["notes"], *(result.get("hot_soak") or {}).get("notes", [])]:
        note(line)
