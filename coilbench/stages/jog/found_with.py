"""What a jog's figures are found with, and whether a figure still holds: shaft, supply, current, microsteps.

A motor with something on its shaft, on another supply or at another current is another motor: each figure says what
it was found with, and is not built upon once that has changed.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from typing import TYPE_CHECKING, Any, cast

from coilbench.records.saved.driver import Driver
from coilbench.records.saved.jog import Figures, FoundWith
from coilbench.records.saved.ratings import Ratings
from coilbench.stages import motor
from coilbench.stages.form import Field, FieldProblem, Texts

if TYPE_CHECKING:
    from coilbench.board.session.drive import Drive
    from coilbench.records.saved.facts import Facts

ON_SHAFT = (("nothing: bare", "bare"), ("a load", "coupled"), ("the machine", "machine"))
FIELDS: tuple[Field, ...] = (
    Field(
        "rotor", "rotor J", help="The rotor's inertia, g·cm², as its data sheet prints it: tells where it resonates."
    ),
    Field(
        "inertia",
        "load J",
        help="Inertia of what is on the shaft, or will be, g·cm²: for an estimate with the load on.",
    ),
    Field("torque", "load M", help="Torque that the load asks for all the time, such as 0.05 Nm."),
    Field("supply", "supply", help="The driver's supply, where the driver stage doesn't say it.", shown=False),
    Field("current", "current", help="The driver's limit, where the driver stage doesn't say it.", shown=False),
)
ON_SHAFT_WORDS = {"bare": "bare shaft", "coupled": "with a load", "machine": "in the machine"}
_SAME = 0.02  # relative: as near as anybody sets a supply or a trimmer again
_INERTIA = re.compile(r"([0-9]+(?:[.,][0-9]+)?(?:e-?[0-9]{1,2})?) ?([a-z0-9·²*^]{0,8})")
_INERTIA_UNITS = {"": 1e-7, "gcm2": 1e-7, "gcm²": 1e-7, "g·cm²": 1e-7, "kgcm2": 1e-4, "kgcm²": 1e-4, "kgm2": 1.0,
                  "kgm²": 1.0, "kg·m²": 1.0}  # fmt: skip


def read_found_with(texts: Texts, known: Facts, drive: Drive) -> FoundWith:
    """What is found from now on is found with; ``drive`` tells the microsteps. Raises FieldProblem."""
    on_shaft = texts.get("on_shaft", "bare")
    if on_shaft not in ON_SHAFT_WORDS:
        raise FieldProblem("on_shaft", f"on the shaft {on_shaft[:20]!r}: expected {', '.join(ON_SHAFT_WORDS)}")
    driver = None if drive.by_coils else known.get(Driver)
    ratings = known.get(Ratings) or Ratings()
    peak = _figure(texts, "current", "ampere") or (None if driver is None else driver.peak_ampere)
    return FoundWith(
        on_shaft=cast("Any", on_shaft),
        supply_volt=_figure(texts, "supply", "volt") or (None if driver is None else driver.supply_volt),
        peak_ampere=peak,
        microsteps=None if drive.by_coils else drive.microsteps,
        rotor_inertia_kilogram_metre2=_inertia(texts, "rotor") or ratings.inertia_kilogram_metre2,
        load_inertia_kilogram_metre2=_inertia(texts, "inertia"),
        load_newton_metre=_figure(texts, "torque", "newton_metre"),
        holding_newton_metre=_holding_newton_metre(known, peak),
    )


def _holding_newton_metre(known: Facts, peak_ampere: float | None) -> float | None:
    """Holding torque at the driver's limit, of which full steps put 1/sqrt(2) through both phases (as most
    step/direction drivers do, common practice) and microsteps as much through one; at the rating where no limit is
    known; None where no torque is."""
    each = motor.holding_per_ampere(known)
    if each is not None and peak_ampere is not None:
        return each * peak_ampere / math.sqrt(2)
    return (known.get(Ratings) or Ratings()).holding_torque_newton_metre


def _figure(texts: Texts, field: str, unit: str) -> float | None:
    from coilbench.quantity import QuantityError, parse_quantity

    text = texts.get(field, "").strip()
    if not text:
        return None
    try:
        return parse_quantity(text, unit, bare=True)
    except QuantityError as problem:
        raise FieldProblem(field, problem.happened) from None


def _inertia(texts: Texts, field: str) -> float | None:
    text = texts.get(field, "").strip().lower().replace(" ", "")
    if not text:
        return None
    found = _INERTIA.fullmatch(text[:40])
    unit = _INERTIA_UNITS.get(found[2].replace("^", "").replace("*", "")) if found else None
    value = float(found[1].replace(",", ".")) * unit if found and unit is not None else 0.0
    if not 1e-12 <= value <= 10:
        raise FieldProblem(field, f"inertia {text[:20]!r}: expected one such as 54 g·cm² or 0.5 kg·cm²")
    return value


def inertia_text(kilogram_metre2: float | None) -> str:
    """An inertia as it is typed, empty for none."""
    return "" if kilogram_metre2 is None else f"{kilogram_metre2 / 1e-7:.4g}"


def found_with_words(each: FoundWith | None) -> str:
    """What a figure was found with, in a few words."""
    from coilbench.quantity import format_quantity

    if each is None:
        return "not said with what"
    words = [ON_SHAFT_WORDS[each.on_shaft]]
    if each.supply_volt:
        words.append(format_quantity(each.supply_volt, "volt"))
    if each.peak_ampere:
        words.append(f"{format_quantity(each.peak_ampere, 'ampere')} peak")
    if each.microsteps:
        words.append("full steps" if each.microsteps == 1 else f"1/{each.microsteps} steps")
    return ", ".join(words)


def change_words(then: FoundWith | None, now: FoundWith) -> str:
    """What has changed since a figure was found, in a few words; empty where it still holds, as far as is known."""
    if then is None:
        return ""
    if then.on_shaft != now.on_shaft:
        return f"{ON_SHAFT_WORDS[then.on_shaft]} then, {ON_SHAFT_WORDS[now.on_shaft]} now"
    return _driven_words(then, now)


def other_current(then: FoundWith, now: FoundWith) -> str:
    """Both currents, where they differ; else empty."""
    return _other(then.peak_ampere, now.peak_ampere, "ampere")


def _other(before: float | None, after: float | None, unit: str) -> str:
    from coilbench.quantity import format_quantity

    if before and after and abs(before - after) > _SAME * after:
        return f"{format_quantity(before, unit)} then, {format_quantity(after, unit)} now"
    return ""


def _driven_words(then: FoundWith, now: FoundWith) -> str:
    if other := _other(then.supply_volt, now.supply_volt, "volt") or other_current(then, now):
        return other
    if then.microsteps and now.microsteps and then.microsteps != now.microsteps:
        return f"1/{then.microsteps} steps then, 1/{now.microsteps} now"
    return ""


def stale_words(then: FoundWith | None, driver: Driver | None) -> str:
    """What the driver is set to now that a figure was not found with; empty for nothing."""
    if then is None or driver is None:
        return ""
    now = FoundWith(supply_volt=driver.supply_volt, peak_ampere=driver.peak_ampere, microsteps=driver.microsteps)
    return _driven_words(then, now)


def fitting(figures: Figures, now: FoundWith) -> Figures:
    """The figures that hold with what is there now; the others as if they were not known."""
    questions = ("start", "run", "acceleration")
    held = {each: not change_words(figures.found_with.get(each), now) for each in questions}
    return replace(
        figures,
        start_rate_sps=figures.start_rate_sps if held["start"] else None,
        run_rate_sps=figures.run_rate_sps if held["run"] else None,
        acceleration_sps2=figures.acceleration_sps2 if held["acceleration"] else None,
    )
