"""A driver setting and what was found about it, as plain data and as lines to read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from coilbench.driver.carried import carried
from coilbench.driver.chip import SQRT2, Chip
from coilbench.driver.figure_text import amps, ohms, seconds, six_digits, volts, watts
from coilbench.driver.finding import Judgement, Situation, Weight
from coilbench.driver.procedure import step_lines, steps_to_set
from coilbench.quantity import format_quantity

WEIGHT_WORDS = {Weight.STOP: "stop", Weight.WARN: "warning", Weight.NOTE: "note"}


def result_object(situation: Situation, judgement: Judgement) -> dict[str, Any]:
    """What ``vref --json`` prints: SI floats to six digits, None for what is not known."""
    setting, chip, means = situation.setting, situation.chip, situation.setting.means
    hotter, heat = judgement.hotter, judgement.heat
    low, high = judgement.range_ampere
    steps = () if judgement.stops else steps_to_set(situation, judgement)
    return {
        "chip": chip.chip,
        "motor": chip.motor,
        "sense_ohm": six_digits(setting.sense_ohm),
        "vref_volt": six_digits(setting.vref_volt),
        "set_resistor_ohm": six_digits(means.set_resistor_ohm),
        "wanted_sense_ohm": six_digits(means.wanted_sense_ohm),
        "register": dict(means.register) or None,
        "peak_amp": six_digits(setting.peak_ampere),
        "rms_amp": six_digits(setting.rms_ampere),
        "full_step_amp": six_digits(setting.full_step_ampere),
        "equal_heat": None
        if hotter is None
        else {"peak_amp": six_digits(hotter.peak_ampere), "vref_volt": six_digits(hotter.vref_volt)},
        "range_amp": [six_digits(low), six_digits(high)],
        "limits": {
            "vref_min_volt": chip.vref_min_volt,
            "vref_max_volt": chip.vref_max_volt,
            "max_amp": chip.max_ampere,
            "max_kind": chip.max_kind,
            "supply_min_volt": chip.supply_min_volt,
            "supply_max_volt": chip.supply_max_volt,
            "full_step_ratio": chip.full_step_ratio,
            "microsteps": list(chip.microsteps),
            "without_cooling_amp": chip.cool_free_ampere,
            "without_cooling_kind": chip.cool_free_kind,
            "continuous_peak_amp": six_digits(judgement.carried_ampere),
            "chop_hertz": None if chip.chop_khz is None else six_digits(1e3 * chip.chop_khz),
            "off_second": six_digits(chip.off_second()),
            "reachable_amp": six_digits(judgement.reach_ampere),
            "floor_amp": six_digits(judgement.floor_ampere),
            "floor_peak_amp": six_digits(judgement.floor_peak_ampere),
            "floor_falling_amp": six_digits(judgement.falling_floor_ampere),
            "smallest_microstep_amp": six_digits(judgement.smallest_step_ampere),
            "quiet_mode_floor_amp": six_digits(judgement.quiet_mode_ampere),
            "chip_watt": six_digits(None if heat is None else heat.watt),
            "switching_watt": six_digits(None if heat is None else heat.switching_watt),
            "idle_watt": six_digits(None if heat is None else heat.idle_watt),
            "junction_celsius": six_digits(None if heat is None else heat.junction_celsius),
        },
        "warnings": [each.text for each in judgement.findings if each.weight < Weight.NOTE],
        "findings": [
            {
                "weight": WEIGHT_WORDS[each.weight],
                "about": each.subject,
                "fact": each.fact,
                "consequence": each.consequence,
                "remedy": each.remedy,
            }
            for each in judgement.findings
        ],
        "withheld": [{"about": each.subject, "why": each.why} for each in judgement.withheld],
        "steps": [{"act": each.act, "caution": each.caution} for each in steps],
        "formula": chip.formula_text,
        "source": chip.document,
        "verified": chip.verified,
        "from_memory": list(chip.memory),
        "conflict": chip.conflict or None,
    }


def set_rows(situation: Situation, judgement: Judgement, trimmer_volt: float | None = None) -> list[tuple[str, str]]:
    """The figures of a setting as rows of name and value, the one to set first."""
    setting, chip = situation.setting, situation.chip
    rows = [("chip", f"{chip.chip}  ({_standing(situation)})")]
    if chip.formula_text:
        rows.append(("formula", chip.formula_text))
    if setting.sense_ohm is not None:
        rows.append(("sense", ohms(setting.sense_ohm) + (", inside the chip" if chip.sense_inside else "")))
    rows += chip.formula.means_rows(setting, trimmer_volt)
    rows += _current_rows(situation, judgement)
    if judgement.reach_ampere is not None and not chip.formula.regulates:
        rows.append(("flows", f"{amps(judgement.reach_ampere)} in each coil, both on"))
    elif judgement.reach_ampere is not None:
        rows.append(("reachable", f"{amps(judgement.reach_ampere)} by supply, coil and bridge"))
    if judgement.floor_ampere is not None:
        small = (
            ""
            if judgement.smallest_step_ampere is None
            else f"  (smallest microstep {amps(judgement.smallest_step_ampere, 2)})"
        )
        rows.append(("smallest", f"{amps(judgement.floor_ampere, 2)}{small}"))
    if situation.off_parts is not None:
        rows.append(_timed_row(chip, *situation.off_parts))
    if (heat := judgement.heat) is not None:
        inside = "" if heat.junction_celsius is None else f", {heat.junction_celsius:.0f} °C inside"
        rows.append(("heat", f"{watts(heat.watt, 2)}{inside}"))
    return rows


def _timed_row(chip: Chip, ohm: float, farad: float) -> tuple[str, str]:
    """The off time, or the frequency, that a resistor and a capacitor set."""
    by = f"by {ohms(ohm)} and {format_quantity(farad, 'farad')}"
    if chip.chop_khz is not None:
        return "chops at", f"{format_quantity(1e3 * chip.chop_khz, 'hertz')} {by}"
    sure = "" if chip.off_rc else "; as R times C, its papers may have a factor"
    return "off time", f"{seconds((chip.off_us or 0.0) * 1e-6, 3)} {by}{sure}"


def reason(situation: Situation) -> str:
    """Why this current is the one to set."""
    setting = situation.setting
    peak, asked = amps(setting.peak_ampere), situation.asked
    if asked == "measured":
        return f"what is set now comes to {peak} peak"
    if asked == "fixed":
        return f"the board's own parts fix it at {peak} peak"
    if not setting.chip.formula.regulates:
        return f"{peak} a coil is its rating" if asked == "rated" else f"{peak} a coil was asked"
    given = setting.full_step_ampere if situation.full_step else setting.asked_ampere
    rated = situation.rated_ampere
    if asked == "rated" and rated is not None and given is not None and rated > 1.01 * given:
        return f"what {_that_carries_it(situation)} carries; the motor's rating is {amps(rated)} RMS"
    if situation.full_step and setting.full_step_ampere is not None:
        return f"full step then puts {amps(setting.full_step_ampere)} into each coil"
    if asked == "rms":
        return f"{amps(setting.asked_ampere / SQRT2)} RMS was asked, 0.71 of the peak"
    if asked == "rated":
        return f"its rating, {amps(setting.asked_ampere)} RMS, taken as the peak: cool even at rest on one coil"
    return f"{amps(setting.asked_ampere)} peak was asked"


def _that_carries_it(situation: Situation) -> str:
    chip, sink = situation.setting.chip, situation.sink_kelvin_per_watt
    found = carried(chip, sink)
    if found is None or situation.running_rms_ampere < 0.99 * found.peak_ampere / SQRT2:
        return "the driver that its connection was chosen for"
    return f"a bare {chip.chip} board" if sink is None else f"the {chip.chip} board with that heat sink"


def at_a_glance(situation: Situation, judgement: Judgement) -> tuple[str, str, str]:
    """The one figure to set, empty where none is, what it is, and how far it is to be trusted."""
    setting = situation.setting
    means, peak = setting.means, amps(setting.peak_ampere)
    low, high = judgement.range_ampere
    doubt = f"{amps(low)} to {amps(high)}, by its tolerances"
    warnings = sum(each.weight is Weight.WARN for each in judgement.findings)
    if warnings:
        doubt = f"{amps(low)} to {amps(high)}; {warnings} warning{'s' * (warnings > 1)} under why"
    if not setting.chip.formula.regulates:
        flows = setting.peak_ampere if judgement.reach_ampere is None else judgement.reach_ampere
        return amps(flows), f"in each coil; the {situation.chip.chip} has nothing to set", ""
    if situation.asked == "measured":
        return peak, f"peak is what the {situation.chip.chip} gives as it is set now", doubt
    if situation.asked == "fixed":
        return peak, f"peak; the parts of this {situation.chip.chip} fix it", doubt
    for value, shown, what in (
        (means.vref_volt, volts, "VREF"),
        (means.set_resistor_ohm, ohms, "set resistor"),
        (means.wanted_sense_ohm, ohms, "sense resistors"),
    ):
        if value is not None:
            return shown(value), f"{what} of the {situation.chip.chip}, for {peak} peak", doubt
    return "", headline(situation, judgement), doubt


def headline(situation: Situation, judgement: Judgement) -> str:
    """The one thing to set, in a line; after a finding that says stop, that it is not to be set."""
    setting = situation.setting
    means, peak = setting.chip.formula.means_text(setting), amps(setting.peak_ampere)
    if not setting.chip.formula.regulates:
        flows = amps(setting.peak_ampere if judgement.reach_ampere is None else judgement.reach_ampere)
        return f"stop: {flows} a coil would flow" if judgement.stops else f"nothing to set: {flows} a coil"
    line = f"{means} for {peak} peak" if means else f"nothing to set: {peak} peak"
    return f"stop: not {line}" if judgement.stops else line


def finding_lines(judgement: Judgement) -> list[str]:
    """One line a finding, most serious first, each led by its weight in words; then what was withheld."""
    lines = [f"{WEIGHT_WORDS[each.weight]}: {each.text}" for each in judgement.findings]
    return lines + [f"not judged: {each.why}" for each in judgement.withheld]


def to_do(situation: Situation, judgement: Judgement, wires: Sequence[str] = ()) -> tuple[str, list[str]]:
    """A heading and what to do, numbered, cautions in place; after a finding that says stop, what to change first.
    ``wires`` say which lead goes where."""
    if not judgement.stops:
        return "to do", step_lines(steps_to_set(situation, judgement, wires))
    remedies = dict.fromkeys(each.remedy for each in judgement.stops if each.remedy)
    return "do not set it like this; instead", [*(f"- {each}" for each in remedies), "then work it out again"]


def _current_rows(situation: Situation, judgement: Judgement) -> list[tuple[str, str]]:
    setting, chip = situation.setting, situation.chip
    if not chip.formula.regulates:
        wanted = f"{amps(setting.peak_ampere)} in each coil, both on"
        return [("to get", wanted), ("because", reason(situation))]
    peak = f"{amps(setting.peak_ampere)}  (the chopping level; {amps(setting.rms_ampere)} RMS microstepping)"
    rows = [("peak", peak), ("because", reason(situation))]
    if setting.full_step_ampere is not None:
        share = f"{chip.full_step_ratio:.0%} of peak"
        rows.append(("full step", f"{amps(setting.full_step_ampere)} in each coil  ({share})"))
    low, high = judgement.range_ampere
    rows.append(("tolerance", f"{amps(low)} to {amps(high)} peak"))
    return rows


def _standing(situation: Situation) -> str:
    words = {"verified": "verified", "memory": "NOT verified", "own": "your own figures"}
    return words.get(situation.chip.status, situation.chip.status)
