"""The plans of a jog's searches: from what is known of the motor, its drive and what is on its shaft."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, cast

from coilbench.errors import NotEnoughKnown
from coilbench.records.saved.jog import Figures
from coilbench.stages.jog.found_with import change_words, fitting
from coilbench.stages.jog.saved import SCAN, SWING, WHOLE
from coilbench.stages.jog.searches import Limits
from coilbench.stages.jog.setting import Setting
from coilbench.stages.jog.swings import swing_hz

if TYPE_CHECKING:
    from coilbench.motion.resonance import ScanPlan
    from coilbench.motion.search_order import Known as KnownOfMotor
    from coilbench.motion.search_plan import Searched, SearchPlan
    from coilbench.motion.swing import SwingPlan

_SCAN_START_SHARE = 0.8  # a scan stays this far below the known start limit


def plan_for(
    kind: str, setting: Setting, figures: Figures, highest_sps: float, limits: Limits
) -> SearchPlan | ScanPlan | SwingPlan:
    """The plan of a search, from what earlier ones found on this drive; ``highest_sps`` is what the board can do.

    Raises InputProblem for one that can't be, NotEnoughKnown when another search must come first.
    """
    if kind == SCAN:
        return _scan_plan(setting, fitting(figures, setting.found_with), highest_sps)
    if kind == SWING:
        return _swing_plan(setting, figures, highest_sps)
    from coilbench.motion.search_order import plan_search

    changed = change_words(figures.found_with.get("start"), setting.found_with)
    if kind != "start" and changed:
        raise NotEnoughKnown(f"the start-stop rate was found with another setting: {changed}", remedy="find it again")
    figures = fitting(figures, setting.found_with)

    usual = {"width": limits.width, "most_moves": limits.most_moves}
    return plan_search(
        cast("Searched", kind),
        setting.shaft,
        _known(setting, figures),
        acceleration_sps2=setting.acceleration_sps2,
        highest_sps=highest_sps,
        lowest=limits.lowest,
        highest=limits.highest,
        **{name: value for name, value in usual.items() if value is not None},  # type: ignore[arg-type]
    )


def check_limits(kind: str, setting: Setting, figures: Figures, limits: Limits) -> None:
    """Raise InputProblem for limits in which a search can't be, before anything moves or another search is made."""
    if kind in WHOLE:
        return
    from coilbench.motion.search_order import CAREFUL_SPS

    started = replace(figures, start_rate_sps=figures.start_rate_sps or CAREFUL_SPS)
    plan_for(kind, setting, started, float("inf"), limits)


def _scan_plan(setting: Setting, figures: Figures, highest_sps: float) -> ScanPlan:
    """Below every limit that is known, closer where the ratings let resonance be expected."""
    from coilbench.motion.resonance import ScanPlan
    from coilbench.motion.search_order import back_rates

    usual = ScanPlan().highest_sps
    start, run = figures.start_rate_sps, figures.run_rate_sps
    highest = min(usual, highest_sps, _SCAN_START_SHARE * start if start else usual, run or usual)
    known = _known(setting, figures)
    back = back_rates(known, highest_sps)
    return ScanPlan(
        setting.shaft,
        highest_sps=highest,
        swing_hz=known.swing_hz or _size_swing_hz(setting),
        back_rate_sps=back[0],
        back_rates_sps=back,
    )


def _swing_plan(setting: Setting, figures: Figures, highest_sps: float) -> SwingPlan:
    """About where it is expected to swing; what was measured before with the same shaft is to be measured anew."""
    from coilbench.motion.swing import SwingPlan

    if setting.drive.pulses > 1:
        raise NotEnoughKnown(
            "microsteps and half steps hardly set a rotor swinging, so no rate shakes it worst",
            remedy="take full steps for this, on the driver and here, then go back: the swing stays the same",
        )
    on = setting.found_with
    others = [each for each in figures.swings if each.found_with.on_shaft != on.on_shaft]
    expected = swing_hz(others, on) or _swing_hz(setting) or _size_swing_hz(setting)
    usual = SwingPlan()
    return SwingPlan(setting.shaft, highest_sps=min(usual.highest_sps, highest_sps), expected_hz=expected)


def _known(setting: Setting, figures: Figures) -> KnownOfMotor:
    from coilbench.motion.search_order import Known as KnownOfMotor

    return KnownOfMotor(
        figures.start_rate_sps,
        figures.run_rate_sps,
        figures.resonance_bands_sps,
        swing_hz(figures.swings, setting.found_with) or _swing_hz(setting),
        back_sps=figures.way_back_sps,
        pulses=setting.drive.pulses,
    )


def _swing_hz(setting: Setting) -> float | None:
    """The small swings' frequency by inertia and holding torque, hertz; None when they don't tell."""
    from coilbench.motion.resonance import swing_from_facts

    on = setting.found_with
    inertia = on.rotor_inertia_kilogram_metre2
    if inertia and on.on_shaft != "bare":
        inertia += on.load_inertia_kilogram_metre2 or 0.0
    return swing_from_facts(on.holding_newton_metre, inertia, setting.shaft.steps_per_turn)


def _size_swing_hz(setting: Setting) -> float | None:
    """By the motor's size, with nothing on its shaft; None with a load, of which a size tells nothing."""
    return setting.size_swing_hz if setting.found_with.on_shaft == "bare" else None
