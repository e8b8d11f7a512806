"""What the ratings come to, and how it is said: lines for the screen, rows and JSON for the command."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilbench.stages.form import Answer, Missing
from coilbench.stages.head import Head
from coilbench.stages.ratings.hot_soak import HotSoak, shown
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.rating.rate import Rating
    from coilbench.rating.spin import Spin


@dataclass(frozen=True)
class RatingsAnswer(Answer):
    """What is known of the current. ``rating`` is None while none can be given; then ``missing`` says what would
    tell. ``wanting`` is what has been begun and needs more; ``remarks`` are notes on all but the soak.

    ``soak_alone``: the rating, if any, rests on nothing but the temperature-rise test.
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
        remedy = "measure a coil's cold ohms and the frame size, read the label, or do a temperature-rise test"
        return Missing(("coil", "label"), "no current can be given", remedy=remedy)

    @property
    def says_nothing(self) -> bool:
        """Whether there is neither a rating nor anything else to tell."""
        if self.rating is not None or self.soak is not None:
            return False
        return bool(self.wanting) or self.step_angle_degree is None

    @property
    def head(self) -> Head:
        if self.rating is None:
            first, *more = self.lines or ("",)
            return Head(first, "answer" if first else "question", why=(*more, *self.notes))
        rating = self.rating
        act = "F3 goes on to the connection" if not self.wanting else f"more: {self.wanting[0].remedy}"
        return Head(
            "RMS a coil: the current to start with",
            "answer",
            shown(rating.start_ampere, "ampere", 2),
            doubt=_range_words(rating),
            act=act,
            why=(
                *self.lines[2:],
                f"why so low: {rating.why_start}",
                *(f"from {each}" for each in rating.basis),
                *((f"not known: {', '.join(rating.missing)}",) if rating.missing else ()),
                *self.notes,
            ),
        )

    def head_of_form(self, form: str) -> Head:
        """What stands first while a form is filled in: what comes of that form, else the rating."""
        why = (*self.lines, *self.notes)
        if form == "soak" and self.soak is not None:
            result, more = self.soak.result, self.soak.current_ampere
            act = "" if more is None else f"{shown(more, 'ampere')} RMS gives the wanted rise"
            doubt = f"rise {self.soak.rise_words}; needs class {result.thermal_class or 'above H'}"
            figure = f"{result.winding_celsius:.0f} °C"
            return Head("in the winding at the end of the run", "answer", figure, doubt=doubt, act=act, why=why)
        if form == "spin" and self.spin is not None:
            figure = f"{self.spin.torque_constant:.2g} N·m/A"
            doubt = _within(self.spin.doubt)
            return Head("torque constant of one coil", "answer", figure, doubt=doubt, act="Enter saves it", why=why)
        return self.head

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
            return "temperature-rise test", [
                *self.soak.rows(),
                *(_start_rows(self.rating) if self.rating is not None else ()),
            ]
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
            rows.append(("holding torque", f"{shown(torque, 'newton_metre')} {doubt}, two phases on"))
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
        lines += [
            f"start with {shown(rating.start_ampere, 'ampere', 2)} RMS a coil",
            _range_words(rating),
            f"{rating.rise_kelvin:g} K rise, two phases on",
        ]
        if rating.holding_torque_newton_metre is not None:
            doubt = f" {_within(rating.holding_doubt)}" if rating.holding_doubt else ""
            lines.append(f"holds {shown(rating.holding_torque_newton_metre, 'newton_metre', 2)}{doubt} at the best")
    if soak is not None:
        result = soak.result
        lines.append(f"winding {result.winding_celsius:.0f} °C, rise {soak.rise_words}")
        lines.append(f"needs class {result.thermal_class or 'above H'}, by rise")
        if soak.current_ampere is not None:
            lines.append(f"{shown(soak.current_ampere, 'ampere')} RMS gives the target rise")
    if spin is not None:
        lines.append(f"{spin.torque_constant:.2g} N·m/A {_within(spin.doubt)}, one coil")
    return tuple(lines)


def _range_words(rating: Rating) -> str:
    best, low, high = (
        shown(value, "ampere", 2) for value in (rating.estimate_ampere, rating.low_ampere, rating.high_ampere)
    )
    if low.endswith(" A"):  # one unit for both ends, where it is the same
        low = low.removesuffix(" A")
    return f"{low} to {high}, best {best}"


def known_of(rating: Rating) -> tuple[Known, ...]:
    """The same in short for a narrow column."""
    known = [Known("start", rating.why_start), *(Known("from", each) for each in rating.basis)]
    if rating.missing:
        known.append(Known("not known", ", ".join(rating.missing)))
    return tuple(known)


def _start_rows(rating: Rating) -> list[tuple[str, str]]:
    return [("start with", f"{shown(rating.start_ampere, 'ampere')} RMS"), ("which is low", rating.why_start)]


def _rating_rows(answer: RatingsAnswer, rating: Rating) -> list[tuple[str, str]]:
    estimate, low, high = (
        shown(value, "ampere") for value in (rating.estimate_ampere, rating.low_ampere, rating.high_ampere)
    )
    rows = [
        *_start_rows(rating),
        ("estimate", f"{estimate} RMS for a rise of {rating.rise_kelvin:g} K"),
        ("range", f"{low} to {high} RMS"),
        *answer.step_rows("{:.4g}°"),
    ]
    if rating.inductance_henry is not None:
        rows.append(("inductance", shown(rating.inductance_henry, "henry")))
    if rating.holding_torque_newton_metre is not None:
        torque = shown(rating.holding_torque_newton_metre, "newton_metre")
        doubt = f" {_within(rating.holding_doubt)}" if rating.holding_doubt else ""
        rows.append(("holding torque", f"about {torque}{doubt} at the estimate, two phases on"))
    if answer.soak is not None:
        result = answer.soak.result
        rows.append(("winding in the test", f"{result.winding_celsius:.0f} °C, rise {answer.soak.rise_words}"))
    rows.append(("currents are", answer.convention))
    rows += [("from", line) for line in rating.basis]
    if rating.missing:
        rows.append(("not known", ", ".join(rating.missing)))
    return rows


def _within(doubt: float) -> str:
    """A share as its standard deviation."""
    return f"±{100 * doubt:.0f} %"
