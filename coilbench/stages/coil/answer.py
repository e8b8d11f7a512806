"""What one coil comes to: how its current dies, what flows through a series resistor, what it rings with."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from coilbench.driver.clamp import DIODE_VOLT, decay_second, linear_decay_second, switch_off_joule
from coilbench.driver.regulation import Loop, reachable_ampere
from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.quantity import format_quantity
from coilbench.rating.roads import RESISTOR_TIMES
from coilbench.stages.axis.fields import Texts, Values, read
from coilbench.stages.coil.fields import KINDS
from coilbench.stages.driver.reading import clamp_volt
from coilbench.stages.figures import FiguresAnswer, figure
from coilbench.tuned_circuit import partner, resonance_hertz

Figures = dict[str, float]
Law = Mapping[str, Callable[[Figures], float]]

_BLUNT = 3.0  # a quality below which the peak is hard to see; own choice
_HIGH_HERTZ = 5e3  # above it iron's eddy currents take some of the inductance (common practice)
_LOW_HERTZ = 1e3  # where meters with an H range measure, or lower (common practice)
_LARGEST_FILM_FARAD = 10e-6
_SENSIBLE = (1e-15, 1e15)

_HELD: Law = {
    "inductance": lambda known: 2 * known["energy"] / known["current"] ** 2,
    "current": lambda known: math.sqrt(2 * known["energy"] / known["inductance"]),
    "energy": lambda known: switch_off_joule(known["inductance"], known["current"]),
}
_SLOW: Law = {
    "inductance": lambda known: known["time_constant"] * known["coil"],
    "coil": lambda known: known["inductance"] / known["time_constant"],
    "time_constant": lambda known: known["inductance"] / known["coil"],
}
_RINGS: Law = {
    "inductance": lambda known: partner(known["capacitor"], known["frequency"]),
    "capacitor": lambda known: partner(known["inductance"], known["frequency"]),
    "frequency": lambda known: resonance_hertz(known["inductance"], known["capacitor"]),
}


def coil_answer(kind: str, texts: Texts) -> FiguresAnswer:
    """What the texts about one coil come to; a key of ``texts`` is a field of the kind.

    Raises InputProblem for what can't be read or can't be, NotEnoughKnown for what is missing.
    """
    values = read(kind, texts, KINDS)
    numbers = {name: value for name, value in values.items() if isinstance(value, float)}
    found = {"decay": _decay, "drive": _drive, "resonance": _resonance}[kind](values, numbers)
    for each in found.figures:
        if each.value and not _SENSIBLE[0] <= abs(float(each.value)) <= _SENSIBLE[1]:
            raise InputProblem(f"{each.label}: {each.value:.3g} is beyond anything on a bench")
    return found


def _follow(known: Figures, *laws: Law) -> Figures:
    """What follows from what is known, by laws that each tell the third of three from the other two.

    Raises InputProblem where all three are told, or a figure follows in two ways.
    """
    known = dict(known)
    for law in laws:
        if len(known.keys() & law.keys()) == len(law):
            raise InputProblem(f"{_names(law)}: expected two of them, the third follows")
    told = [law for law in laws if len(known.keys() & law.keys()) == len(law) - 1]
    ways = [name for law in told for name in law if name not in known]
    if len(set(ways)) < len(ways):
        raise InputProblem(f"{ways[0]} follows in two ways, expected one of them to be left out")
    for law in (*laws, *laws):
        missing = [name for name in law if name not in known]
        if len(missing) == 1:
            known[missing[0]] = law[missing[0]](known)
    return known


def _names(names: Law) -> str:
    return ", ".join(each.replace("_", "-") for each in names)


def _decay(values: Values, told: Figures) -> FiguresAnswer:
    known = _follow(told, _HELD, _SLOW)
    if "inductance" not in known:
        raise NotEnoughKnown(
            "the coil's inductance is not known",
            remedy="give --inductance, or --energy with --current, or --coil with --time-constant",
        )
    henry, ohm, ampere = known["inductance"], known.get("coil"), known.get("current")
    out = [figure("inductance_henry", "inductance", henry, "henry", 4)]
    if ohm is not None:
        out.append(figure("coil_ohm", "its ohms", ohm, "ohm", 4))
        out.append(figure("time_constant_second", "to 37 %, the coil shorted", henry / ohm, "second", 4))
    extra = known.get("resistor", 0.0)
    if extra and ohm is not None:
        loop = henry / (ohm + extra)
        out.append(figure("loop_time_constant_second", "to 37 %, through the resistor", loop, "second", 4))
    if ampere is None:
        return FiguresAnswer("decay", tuple(out), ("the current it begins with, --current, tells how long it takes",))
    out.append(figure("current_ampere", "current", ampere, "ampere", 4))
    out.append(figure("energy_joule", "held, and given back at each switching off", known["energy"], "joule"))
    against = _against(values, known)
    across = against + ampere * extra
    out.append(figure("across_volt", "across the coil as the switch opens", across, "volt"))
    if "supply" in known:
        out.append(figure("switch_volt", "which the switch sees", known["supply"] + across, "volt"))
    findings = []
    if ohm is not None:
        second = decay_second(henry, ohm + extra, ampere, against)
        out.append(figure("decay_second", "current gone in", second, "second"))
        slow = decay_second(henry, ohm, ampere, DIODE_VOLT)
        if second < slow:
            findings.append(f"a diode alone takes {format_quantity(slow, 'second')}")
    if not extra and (ohm is None or against > ampere * ohm):
        linear = linear_decay_second(henry, ampere, against)
        out.append(figure("linear_decay_second", "as if it fell evenly, L I / V", linear, "second"))
    if "often" in known:
        out.append(figure("given_back_watt", "given back, at most", known["energy"] * known["often"], "watt"))
    return FiguresAnswer("decay", tuple(out), tuple(findings))


def _against(values: Values, known: Figures) -> float:
    """The steady volts against the current, beside those of a resistor."""
    ways = [name for name in ("clamp", "across") if name in values]
    if len(ways) > 1 or (ways == ["across"] and "resistor" in known):
        raise InputProblem(
            "across: that is all there is across the coil, expected no clamp and no resistor beside it"
        )
    if "across" in known:
        return known["across"]
    zener = clamp_volt({"clamp": str(values.get("clamp", ""))})
    return DIODE_VOLT + (zener or 0.0)


def _drive(_: Values, told: Figures) -> FiguresAnswer:
    known = {"drop": 0.0, **told}
    if "coil" not in known:
        raise NotEnoughKnown("the coil's ohms are not known", remedy="give --coil")
    if {"supply", "series", "current"} <= told.keys():
        raise InputProblem("supply, series, current: expected two of them, the third follows")
    ohm, drop = known["coil"], known["drop"]
    if "current" not in known:
        if "supply" not in known:
            raise NotEnoughKnown("what flows needs the supply", remedy="give --supply, or --current")
        supply, series = known["supply"], known.get("series", 0.0)
        ampere = reachable_ampere(Loop(supply, ohm, sense_ohm=series, drop_volt=drop))
        if ampere <= 0:
            raise InputProblem(f"supply: {_volt(supply)} is no more than the {_volt(drop)} that the switches keep")
    elif "supply" in known:
        supply, ampere = known["supply"], known["current"]
        series = (supply - drop) / ampere - ohm
        if series < -1e-9 * ohm:
            most = format_quantity(max(supply - drop, 0.0) / ohm, "ampere")
            raise InputProblem(f"supply: {_volt(supply)} brings {most} through this coil, expected a higher one")
        series = max(series, 0.0)
    else:
        ampere, series = known["current"], known.get("series", 0.0)
        supply = ampere * (ohm + series) + drop
    heat, times = ampere**2 * series, (ohm + series) / ohm
    out = [
        figure("current_ampere", "current a phase", ampere, "ampere", 4),
        figure("supply_volt", "supply", supply, "volt", 4),
        figure("series_ohm", "series resistor of a phase", series, "ohm", 4),
        figure("series_watt", "its heat", heat, "watt"),
        figure("series_rating_watt", "rated for, at least", RESISTOR_TIMES * heat, "watt"),
        figure("coil_watt", "the coil's heat", ampere**2 * ohm, "watt"),
        figure("supply_watt", "from the supply, a phase", ampere * supply, "watt"),
        figure("circuit_times", "all ohms over the coil's: L/nR", times),
    ]
    if "inductance" in known:
        second = known["inductance"] / (ohm + series)
        out.append(figure("time_constant_second", "to 63 % of the current", second, "second"))
    findings = ["two phases on: a resistor in each common; in the one common of five leads half of its ohms, twice "
                "its watts"] if series else []  # fmt: skip
    return FiguresAnswer("drive", tuple(out), tuple(findings))


def _resonance(_: Values, told: Figures) -> FiguresAnswer:
    known = _follow(told, _RINGS)
    if not known.keys() >= _RINGS.keys():
        wanted = " and ".join(f"--{name}" for name in _RINGS if name not in known)
        raise NotEnoughKnown(f"two of {_names(_RINGS)} tell the third", remedy=f"give {wanted}, one of them")
    henry, farad, hertz = (known[name] for name in _RINGS)
    out = [
        figure("inductance_henry", "inductance", henry, "henry", 4),
        figure("capacitor_farad", "capacitor", farad, "farad", 4),
        figure("frequency_hertz", "rings at", hertz, "hertz", 4),
    ]
    if (doubt := known.get("tolerance")) and "inductance" not in told:
        out.append(figure("least_henry", "at least, by the capacitor", henry / (1 + doubt), "henry", 4))
        out.append(figure("most_henry", "at most, by the capacitor", henry / (1 - doubt), "henry", 4))
    reactance = 2 * math.pi * hertz * henry
    out.append(figure("reactance_ohm", "reactance there", reactance, "ohm"))
    findings, warnings = [], []
    if "coil" in known:
        quality = reactance / known["coil"]
        out.append(figure("quality", "quality: reactance over ohms, without iron's losses", quality))
        if quality < _BLUNT:
            warnings.append(
                f"a quality of {quality:.2g}: the peak is too blunt to see, a smaller capacitor sharpens it"
            )
    low = partner(henry, _LOW_HERTZ)
    if hertz > _HIGH_HERTZ and low <= _LARGEST_FILM_FARAD:
        lower = format_quantity(low, "farad", 2)
        findings.append(f"iron makes the inductance less this high up: about {lower} rings near 1 kHz")
    return FiguresAnswer("resonance", tuple(out), tuple(findings), tuple(warnings))


def _volt(value: float) -> str:
    return format_quantity(value, "volt")
