"""What a motor can take, put together from whatever is known of it: size, label, spun volts, counts."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.errors import NotEnoughKnown
from coilbench.rating.copper import CLASS_A_RISE_KELVIN, ROOM_CELSIUS
from coilbench.rating.current import CAUTION, CurrentEstimate, estimate_current, usual_rise_kelvin
from coilbench.rating.frames import Body
from coilbench.rating.label import Label, LabelFinding, judge_label
from coilbench.rating.makers import Hints
from coilbench.rating.spin import Spin, check_step_angle
from coilbench.rating.why_start import Rests, why_start

LABEL_SCATTER = 0.15  # winding tolerance and the rounding of printed figures
MOUNT_WORD = (
    "at this rise the case gets too hot to touch (about 60 °C is the most fingers bear) and softens PLA mounts (from "
    "about 55 °C) and then PETG (about 75 °C): watch the first hour"
)
CAN_WORD = (
    "round can: the few printed currents found lie between 0.6 and 1.8 times this heat balance, so the range is "
    "wide; a temperature-rise test of this motor settles it"
)


PEAK_WORD = "a driver's peak current is 1.41 times that for the same heat"


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of the motor; None where it isn't. ``coil_ohm`` is cold, per coil or half-winding.

    ``holding_newton_metre`` as printed, ``half_winding`` whether the ohms are those of one half.
    """

    coil_ohm: float | None = None
    body: Body | None = None
    rise_kelvin: float | None = None
    cold_celsius: float = ROOM_CELSIUS
    label: Label | None = None
    step_angle_degree: float | None = None
    inductance_henry: float | None = None
    spin: Spin | None = None
    holding_newton_metre: float | None = None
    half_winding: bool | None = None
    soaked_ampere: float | None = None  # current that a temperature-rise test allows for the rise
    soaked_range_ampere: tuple[float, float] | None = None  # what 90 of 100 such soaks leave it between
    soaked_told: bool = True  # whether that run's current was measured or set, and which, is known


@dataclass(frozen=True, slots=True)
class Rating:
    """The answer: currents in ampere RMS per coil, two phases on. ``start_ampere`` is where to begin, ``why_start``
    why so low, and when to go up."""

    rise_kelvin: float
    estimate_ampere: float
    low_ampere: float
    high_ampere: float
    start_ampere: float
    why_start: str
    heat_watt: float | None
    coil_ohm: float | None
    inductance_henry: float | None
    step_angle_degree: float | None
    holding_torque_newton_metre: float | None
    holding_doubt: float | None  # one standard deviation, a share; None for a printed torque, or none
    torque_constant: float | None
    basis: tuple[str, ...]
    missing: tuple[str, ...]
    notes: tuple[str, ...]
    contradicts: bool


def rate(known: Known) -> Rating:
    """The current a motor can take and what it rests on.

    A temperature-rise test counts most, then a label that agrees with the meter, then the size. Raises NotEnoughKnown
    when nothing gives a current.
    """
    basis: list[str] = []
    missing: list[str] = []
    notes: list[str] = []
    if known.step_angle_degree is not None:
        check_step_angle(known.step_angle_degree)
    size = _from_size(known, basis, missing)
    label = _from_label(known, size, notes)
    rise = size.rise_kelvin if size else known.rise_kelvin or usual_rise_kelvin(known.body)
    if known.soaked_ampere is not None:
        estimate = known.soaked_ampere
        low, high, start = _around(estimate)
        if known.soaked_range_ampere is not None:
            low, high = known.soaked_range_ampere
            start = min(start, low)
        why: Rests = "soak" if known.soaked_told else "untold test"
        basis.insert(0, f"temperature-rise test of this motor: current for a rise of {rise:g} K")
    elif label.ampere is not None and not label.unsure and (size is None or known.rise_kelvin is None):
        estimate = label.ampere
        low, high, start = _around(estimate)
        why = "label"
        own = "label, which the ohms or its own figures contradict: the lower current"
        basis.insert(0, own if label.contradicts else "label: the maker's own rating")
    elif label.ampere is not None and size is None:
        # The current may rest on the supply's voltage: begin at half of it.
        estimate, low, high = label.ampere, 0.5 * label.ampere, label.ampere
        start = CAUTION * low
        why = "label"
        basis.insert(0, "label, unchecked: give the motor's size")
    elif size is not None:
        estimate, low, high, start = size.estimate_ampere, size.low_ampere, size.high_ampere, size.start_ampere
        why = "can" if known.body is not None and known.body.round_can else "size"
        if known.body is not None and known.body.round_can:
            notes.append(CAN_WORD)
    else:
        raise NotEnoughKnown(
            "no current can be given", remedy="measure a coil's cold ohms and the frame size, or read the label"
        )
    angle = known.step_angle_degree or (known.label.step_angle_degree if known.label else None)
    henry = known.inductance_henry or (known.label.henry if known.label else None)
    constant = known.spin.torque_constant if known.spin else None
    if known.spin:
        basis.append("torque constant: the spun coil's volts")
    if known.holding_newton_metre and size is not None:
        basis.append(f"holding torque of {known.holding_newton_metre:.3g} N·m, as printed")
    missing += [
        what
        for what, value in (
            ("step angle", angle),
            ("inductance", henry),
            ("back-EMF (spun volts)", constant),
            ("temperature-rise test", known.soaked_ampere),
        )
        if value is None
    ]
    if known.body is not None and known.body.by_size:
        notes.append(
            f"taken as a square {known.body.name}; a round can of that size takes less: "
            f'write "{known.body.face_metre * 1000:.0f} mm can" for one'
        )
    if rise >= CLASS_A_RISE_KELVIN:
        notes.append(MOUNT_WORD)
    return Rating(
        rise_kelvin=rise,
        estimate_ampere=estimate,
        low_ampere=low,
        high_ampere=high,
        start_ampere=start,
        why_start=why_start(start / estimate, why),
        heat_watt=size.heat_watt if size else None,
        coil_ohm=known.coil_ohm,
        inductance_henry=henry,
        step_angle_degree=angle,
        holding_torque_newton_metre=known.holding_newton_metre
        or (known.spin.holding_torque(estimate) if known.spin else None),
        holding_doubt=known.spin.torque_doubt if known.spin and not known.holding_newton_metre else None,
        torque_constant=constant,
        basis=tuple(basis),
        missing=tuple(missing),
        notes=tuple(notes),
        contradicts=label.contradicts,
    )


def _around(ampere: float) -> tuple[float, float, float]:
    """Low, high and start about a current that this motor itself or its maker tells."""
    return ampere * (1 - LABEL_SCATTER), ampere * (1 + LABEL_SCATTER), CAUTION * ampere


def _from_size(known: Known, basis: list[str], missing: list[str]) -> CurrentEstimate | None:
    if known.coil_ohm is None:
        missing.append("coil resistance")
        if known.body is None:
            missing.append("frame size or diameter")
        return None
    if known.body is None:
        missing += ["frame size or diameter", "body length"]
        if known.label is not None or known.soaked_ampere is not None:
            return None
        basis.append(f"{known.coil_ohm:.4g} ohm in a square body of any size: measure the face")
        return estimate_current(None, known.coil_ohm, known.rise_kelvin, known.cold_celsius, hints=_hints(known))
    estimate = estimate_current(
        known.body, known.coil_ohm, known.rise_kelvin, known.cold_celsius, hints=_hints(known)
    )
    shape = "body" if known.body.round_can else "square body"
    basis.append(
        f"heat of a {known.body.name} {shape}, {known.body.length_metre * 1000:g} mm long, still air, on a poor "
        f"mount, and what makers rate the like for: {estimate.heat_watt:.3g} W"
    )
    basis.append(
        f"{known.coil_ohm:.4g} ohm at {known.cold_celsius:g} °C, {estimate.hot_ohm:.4g} ohm hot, two phases on"
    )
    if not known.body.length_known:
        missing.append("body length")
        basis[-2] += (
            f" (length not measured: {known.body.shortest_metre * 1000:g} to {known.body.longest_metre * 1000:g})"
        )
    return estimate


def _hints(known: Known) -> Hints:
    label_angle = known.label.step_angle_degree if known.label else None
    return Hints(
        step_angle_degree=known.step_angle_degree or label_angle,
        half_winding=known.half_winding,
        holding_newton_metre=known.holding_newton_metre,
        torque_constant=known.spin.torque_constant if known.spin else None,
        constant_doubt=known.spin.doubt if known.spin else 0.0,
    )


def _from_label(known: Known, size: CurrentEstimate | None, notes: list[str]) -> LabelFinding:
    if known.label is None:
        return LabelFinding(None, False, False, ())
    finding = judge_label(known.label, known.coil_ohm, size.shed_ampere if size is not None else None)
    notes += finding.notes
    if (
        known.label.step_angle_degree
        and known.step_angle_degree
        and abs(known.label.step_angle_degree / known.step_angle_degree - 1) > 0.02
    ):
        notes.append(
            f"the label's {known.label.step_angle_degree:g} degree and the {known.step_angle_degree:g} degree given "
            "disagree"
        )
    return finding


def convention(leads: int | None) -> str:
    """What the currents are counted by, in words."""
    if leads is None:
        return f"RMS per coil with two phases on; for 5, 6 and 8 leads per half-winding, unipolar; {PEAK_WORD}"
    return f"RMS per {'coil' if leads == 4 else 'half-winding, unipolar'}, two phases on; {PEAK_WORD}"
