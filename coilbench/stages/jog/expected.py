"""What a run is expected to reach by the torque curve, before any trial: told, never searched by.

A curve of torque has no rate at which a motor skips: what is on the shaft and how it speeds up decide that, and a
trial measures it. So a search begins without it, and what it finds outweighs it.
"""

from __future__ import annotations

import math

from coilbench.errors import CoilbenchError
from coilbench.stages import motor
from coilbench.stages.desk import Desk
from coilbench.stages.jog.setting import Setting
from coilbench.stages.torque_curve import TorqueCurve


def run_expected(desk: Desk, setting: Setting) -> str:
    """A sentence; empty where the motor's own figures aren't measured, or no driver sets its current."""
    connected, known = motor.as_connected(desk.known), motor.holding_per_ampere(desk.known)
    if setting.drive.by_coils or connected.inductance_henry is None or known is None:
        return ""
    volt, ampere = setting.found_with.supply_volt, setting.found_with.peak_ampere
    texts = {
        "steps": str(setting.shaft.steps_per_turn),
        "microsteps": str(setting.drive.microsteps),
        **({} if volt is None else {"supply": f"{volt!r} V"}),
        **({} if ampere is None else {"current": f"{ampere!r} A"}),
    }
    try:
        answer = TorqueCurve(desk).answer(texts)
    except CoilbenchError:
        return ""
    assert answer.ends is not None and answer.figures is not None and answer.driven is not None
    said = f"By its torque curve on {answer.driven.supply_volt:g} V half of the torque is left at"
    said = f"{said} {_rounded(answer.ends.half_torque_sps)} steps/s"
    loaded = _loaded_newton_metre(answer.figures.steps_per_turn, setting)
    if loaded is not None:
        from coilbench.motion.torque_curve import whole_curve

        gives_out = whole_curve(answer.figures, answer.driven).fastest_sps(loaded)
        said += f", with its load it gives out near {_rounded(gives_out)}"
    return f"{said}: an estimate, a trial outweighs it."


def _loaded_newton_metre(steps_per_turn: float, setting: Setting) -> float | None:
    """The torque, newton metre, that the load and speeding up take; None without a load: a bare shaft's own friction
    isn't known."""
    on = setting.found_with
    if on.on_shaft == "bare" or on.load_newton_metre is None:
        return None
    inertia = (on.rotor_inertia_kilogram_metre2 or 0.0) + (on.load_inertia_kilogram_metre2 or 0.0)
    return on.load_newton_metre + inertia * setting.acceleration_sps2 * 2 * math.pi / steps_per_turn


def _rounded(rate_sps: float) -> str:
    return f"{float(f'{rate_sps:.2g}'):.0f}"
