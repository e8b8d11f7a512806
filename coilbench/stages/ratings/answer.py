"""What the ratings come to, and how it is said: lines for the screen, rows and JSON for the command."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilbench.stages.form import Answer, Missing
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.rating.rate import Rating
    from coilbench.rating.run_current import RunCurrent
    from coilbench.rating.soak import Soak, SoakResult
    from coilbench.rating.spin import Spin


@dataclass(frozen=True)
class HotSoak:
    """A soak with its readings complete. ``currents`` give the wanted rise in ampere RMS a coil: the middle, and the
    range of 90 of 100; None where they can't be told. ``run`` is what the coils carried."""

    measured: Soak
    result: SoakResult
    wanted_rise_kelvin: float
    currents: tuple[float, float, float] | None = None
    run: RunCurrent | None = None

    @property
    def current_ampere(self) -> float | None:
        """The current that gives the wanted rise."""
        return None if self.currents is None else self.currents[0]

    @property
    def rise_words(self) -> str:
        """The rise with its doubt, as a range where that is not the same on both sides."""
        result = self.result
        down = result.rise_kelvin - result.rise_low_kelvin
        up = result.rise_high_kelvin - result.rise_kelvin
        if abs(up - down) < 1.0:
            return f"{result.rise_kelvin:.0f} ±{result.plus_minus_kelvin:.0f} K"
        return f"{result.rise_kelvin:.0f} K ({result.rise_low_kelvin:.0f} to {result.rise_high_kelvin:.0f})"

    @property
    def notes(self) -> tuple[str, ...]:
        """What goes with the soak."""
        if self.run is None:
            return self.result.notes
        if self.run.told:
            return (f"run with {self.run.text}", *self.result.notes)
        return (
            f"run with {self.run.text}: if it was a driver's set-point, the coils carried less, and stand less. Say "
            "which it was (coil, RMS or peak) and what the driver leaves at rest; until then begin with half",
            *self.result.notes,
        )

    @property
    def cold_ohm(self) -> float:
        """The coil alone, cold."""
        return self.measured.cold_ohm - (self.measured.probes_ohm or 0.0)

    def as_json(self) -> dict[str, Any]:
        """One JSON-plain object, SI units."""
        result = self.result
        plain: dict[str, Any] = {
            "winding_celsius": result.winding_celsius,
            "rise_kelvin": result.rise_kelvin,
            "thermal_class": result.thermal_class,
            "plus_minus_kelvin": result.plus_minus_kelvin,
            "rise_low_kelvin": result.rise_low_kelvin,
            "rise_high_kelvin": result.rise_high_kelvin,
            "switch_off_ohm": result.off_ohm,
            "cold_ohm": self.measured.cold_ohm,
            "probes_left_in_kelvin": result.probes_kelvin,
            "time_constant_second": result.time_constant_second,
            "constant_kelvin": self.measured.constant_kelvin,
            "notes": list(self.notes),
        }
        if self.run is not None:
            plain |= {"run_amp": self.run.ampere, "run_amp_told": self.run.told}
        if self.currents is not None:
            middle, low, high = self.currents
            plain |= {
                "wanted_rise_kelvin": self.wanted_rise_kelvin,
                "current_for_rise_amp": middle,
                "current_for_rise_low_amp": low,
                "current_for_rise_high_amp": high,
            }
        return plain


@dataclass(frozen=True)
class RatingsAnswer(Answer):
    """What is known of the current. ``rating`` is None while none can be given; then ``missing`` says what would
    tell. ``wanting`` is what has been begun and needs more; ``remarks`` are notes on all but the soak.

    ``soak_alone``: the rating, if any, rests on nothing but the hot soak.
    """

    rating: Rating | None = None
    soak: HotSoak | None = None
    spin: Spin | None = None
    step_angle_degree: float | None = None
    drill_limit_rpm: float | None = None
    limit_hertz: float = 0.0
    run_ampere: float | None = None
    convention: str = ""
    soak_alone: bool = False
    remarks: tuple[str, ...] = ()
    wanting: tuple[Missing, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def missing(self) -> Missing:
        """What is needed most."""
        if self.wanting:
            return self.wanting[0]
        remedy = "measure a coil's cold ohms and the frame's size, read the label, or do a hot soak"
        return Missing(("coil", "label"), "no current can be given", remedy=remedy)

    @property
    def says_nothing(self) -> bool:
        """Whether there is neither a rating nor anything else to tell."""
        if self.rating is not None or self.soak is not None:
            return False
        return bool(self.wanting) or self.step_angle_degree is None

    @property
    def spin_lines(self) -> tuple[str, ...]:
        """What goes with the spun shaft alone."""
        if self.drill_limit_rpm is None:
            return ()
        return (f"{self.limit_hertz:g} Hz meter: under {self.drill_limit_rpm:.0f} rpm",)

    @property
    def table(self) -> tuple[str, list[tuple[str, str]]]:
        """Everything as names and values under a title."""
        if self.soak is not None and (self.soak_alone or self.rating is None):
            return "hot soak", _soak_rows(self.soak)
        if self.rating is not None:
            return "rating", _rating_rows(self, self.rating)
        return "counted and spun", self._counted_rows()

    def _counted_rows(self) -> list[tuple[str, str]]:
        rows = self.step_rows("{:.4g}°, {:.4g} steps a turn")
        if self.spin is not None:
            spin = self.spin
            rows.append(("torque constant", f"{spin.torque_constant:.3g} N·m/A {_within(spin.doubt)}, one coil"))
        if torque := self._holding_torque():
            doubt = _within(self.spin.torque_doubt) if self.spin is not None else ""
            rows.append(("holding torque", f"{_shown(torque, 'newton_metre')} {doubt}, two phases on"))
        return rows

    def step_rows(self, pattern: str) -> list[tuple[str, str]]:
        """The step angle by ``pattern``, and how fast a drill may be."""
        angle = self.step_angle_degree
        if angle is None:
            return []
        return [
            ("step angle", pattern.format(angle, 360 / angle)),
            ("meter's AC range ends", f"at {self.drill_limit_rpm:.0f} turns a minute of the drill"),
        ]

    def _holding_torque(self) -> float | None:
        if self.spin is None or self.run_ampere is None:
            return None
        return self.spin.holding_torque(self.run_ampere)

    def as_json(self) -> dict[str, Any]:
        """The answer as one JSON-plain object, SI units."""
        return self._figures_json() | {"cautions": list(self.cautions)}

    def _figures_json(self) -> dict[str, Any]:
        if self.rating is None and self.soak is None:
            return self._counted_json()
        plain = {} if self.rating is None else self._rating_json(self.rating)
        if self.soak is None:
            return plain
        soak = self.soak.as_json()
        if self.rating is None or self.soak_alone:
            return plain | soak | {"notes": list(self.notes)}
        return plain | {"hot_soak": soak}

    def _rating_json(self, rating: Rating) -> dict[str, Any]:
        plain: dict[str, Any] = {
            "rise_kelvin": rating.rise_kelvin,
            "estimate_amp": rating.estimate_ampere,
            "low_amp": rating.low_ampere,
            "high_amp": rating.high_ampere,
            "start_amp": rating.start_ampere,
            "why_start": rating.why_start,
            "convention": self.convention,
            "heat_watt": rating.heat_watt,
            "coil_ohm": rating.coil_ohm,
            "henry": rating.inductance_henry,
            "step_angle_degree": rating.step_angle_degree,
            "torque_constant": rating.torque_constant,
            "torque_constant_doubt": None if self.spin is None else self.spin.doubt,
            "holding_torque_newton_metre": rating.holding_torque_newton_metre,
            "holding_torque_doubt": rating.holding_doubt,
            "contradiction": rating.contradicts,
            "basis": list(rating.basis),
            "missing": list(rating.missing),
            "notes": list(self.remarks),
        }
        if self.drill_limit_rpm is not None:
            plain["drill_limit_rpm"] = self.drill_limit_rpm
        return plain

    def _counted_json(self) -> dict[str, Any]:
        return {
            "step_angle_degree": self.step_angle_degree,
            "steps_per_turn": None if self.step_angle_degree is None else 360 / self.step_angle_degree,
            "torque_constant": None if self.spin is None else self.spin.torque_constant,
            "torque_constant_doubt": None if self.spin is None else self.spin.doubt,
            "back_emf_rms_volt_second": None if self.spin is None else self.spin.back_emf_rms,
            "holding_torque_newton_metre": self._holding_torque(),
            "drill_limit_rpm": self.drill_limit_rpm,
            "notes": list(self.notes),
        }


def lines_of(rating: Rating | None, soak: HotSoak | None, spin: Spin | None) -> tuple[str, ...]:
    """The answer in short lines, the figure to begin with first."""
    lines = []
    if rating is not None:
        start, best, low, high = (
            _shown(value, "ampere", 2)
            for value in (rating.start_ampere, rating.estimate_ampere, rating.low_ampere, rating.high_ampere)
        )
        if low.endswith(" A"):  # one unit for both ends, where it is the same
            low = low.removesuffix(" A")
        lines += [
            f"start with {start} RMS a coil",
            f"{low} to {high}, best {best}",
            f"{rating.rise_kelvin:g} K rise, two phases on",
        ]
        if rating.holding_torque_newton_metre is not None:
            doubt = f" {_within(rating.holding_doubt)}" if rating.holding_doubt else ""
            lines.append(f"holds {_shown(rating.holding_torque_newton_metre, 'newton_metre', 2)}{doubt} at the best")
    if soak is not None:
        result = soak.result
        lines.append(f"soak {result.winding_celsius:.0f} °C, rise {soak.rise_words}")
        lines.append(f"needs class {result.thermal_class or 'above H'}, by rise")
        if soak.current_ampere is not None:
            lines.append(f"{_shown(soak.current_ampere, 'ampere')} RMS gives the wanted rise")
    if spin is not None:
        lines.append(f"{spin.torque_constant:.2g} N·m/A {_within(spin.doubt)}, one coil")
    return tuple(lines)


def known_of(rating: Rating) -> tuple[Known, ...]:
    """The same in short for a narrow column."""
    known = [Known("start", rating.why_start), *(Known("from", each) for each in rating.basis)]
    if rating.missing:
        known.append(Known("not known", ", ".join(rating.missing)))
    return tuple(known)


def _soak_rows(soak: HotSoak) -> list[tuple[str, str]]:
    result = soak.result
    rows = [
        ("winding", f"{result.winding_celsius:.0f} °C"),
        ("rise", f"{soak.rise_words}, 68 of 100 such tests"),
        ("thermal class needed", f"{result.thermal_class or 'above H'} (by rise, at 40 °C ambient)"),
        ("at switch-off", _shown(result.off_ohm, "ohm")),
    ]
    if soak.current_ampere is not None:
        rows.append((f"for {soak.wanted_rise_kelvin:g} K", f"{_shown(soak.current_ampere, 'ampere')} RMS per coil"))
    return rows


def _rating_rows(answer: RatingsAnswer, rating: Rating) -> list[tuple[str, str]]:
    start, estimate, low, high = (
        _shown(value, "ampere")
        for value in (rating.start_ampere, rating.estimate_ampere, rating.low_ampere, rating.high_ampere)
    )
    rows = [
        ("start with", f"{start} RMS"),
        ("estimate", f"{estimate} RMS for a rise of {rating.rise_kelvin:g} K"),
        ("range", f"{low} to {high} RMS"),
        ("why so low", rating.why_start),
        *answer.step_rows("{:.4g}°"),
    ]
    if rating.inductance_henry is not None:
        rows.append(("inductance", _shown(rating.inductance_henry, "henry")))
    if rating.holding_torque_newton_metre is not None:
        torque = _shown(rating.holding_torque_newton_metre, "newton_metre")
        doubt = f" {_within(rating.holding_doubt)}" if rating.holding_doubt else ""
        rows.append(("holding torque", f"about {torque}{doubt} at the estimate, two phases on"))
    if answer.soak is not None:
        result = answer.soak.result
        rows.append(("winding in the soak", f"{result.winding_celsius:.0f} °C, rise {answer.soak.rise_words}"))
    rows.append(("currents are", answer.convention))
    rows += [("from", line) for line in rating.basis]
    if rating.missing:
        rows.append(("not known", ", ".join(rating.missing)))
    return rows


def _within(doubt: float) -> str:
    """A share as its standard deviation."""
    return f"±{100 * doubt:.0f} %"


def _shown(value: float, unit: str, digits: int = 3) -> str:
    from coilbench.quantity import format_quantity

    return format_quantity(value, unit, digits)
