"""From what was said of an axis to the axis that is reckoned with."""

from __future__ import annotations

import csv
import math
from importlib import resources

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.motion.axis.axis import GRAVITY_METRE_PER_S2, Axis, Drive, Load, Motor
from coilbench.motion.axis.bodies import STEEL_KILOGRAM_PER_METRE3, disc_inertia
from coilbench.motion.axis.screw import Screw
from coilbench.motion.axis.threads import HALF_ANGLE_DEGREE, ThreadSize, thread_size
from coilbench.motion.axis.wheel import Wheel, drum_diameter, toothed
from coilbench.stages.axis.fields import FORMS, Values


def number(values: Values, key: str, usual: float | None = None) -> float:
    """A value that was said, or the usual one. Raises NotEnoughKnown where there is none."""
    value = values.get(key, usual)
    if value is None:
        raise NotEnoughKnown(f"{key.replace('_', '-')} is not given", remedy=f"give --{key.replace('_', '-')}")
    assert not isinstance(value, str)
    return value


def _one_of(values: Values, first: str, second: str) -> None:
    if first in values and second in values:
        raise InputProblem(f"{first} and {second}: expected one of them".replace("_", "-"))


def thread_of(values: Values) -> ThreadSize | None:
    """The size that a thread's designation names; None for a bare form."""
    thread = str(values.get("thread", "square"))
    return None if thread in FORMS else thread_size(thread)


def friction_of(values: Values) -> tuple[float | None, tuple[float, float] | None]:
    """The thread's friction, and the range that the table prints for its materials where those were said."""
    _one_of(values, "friction", "materials")
    if "materials" in values:
        low, high = _table_friction(str(values["materials"]))
        return high, (low, high)  # what has to be lifted is lifted on a bad day, too
    if "friction" in values:
        return number(values, "friction"), None
    if "efficiency" in values:
        return None, None
    raise NotEnoughKnown("the thread's friction is not given", remedy="give --friction, --materials or --efficiency")


def _table_friction(said: str) -> tuple[float, float]:
    text = (resources.files("coilbench.motion.axis") / "thread_friction.csv").read_text(encoding="utf-8")
    rows = list(csv.DictReader(text.splitlines()))
    names = {f"{row['screw']} on {row['nut']}, {row['state']}": row for row in rows}
    row = names.get(" ".join(said.lower().split()))
    if row is None:
        raise InputProblem(f"materials: {said!r} is not in the table, expected one of: {'; '.join(names)}")
    return float(row["low"]), float(row["high"])


def screw_of(values: Values) -> Screw:
    """The screw that was described. Raises InputProblem and NotEnoughKnown."""
    size = thread_of(values)
    form = size.form if size else str(values.get("thread", "square"))
    friction, _ = friction_of(values)
    if ("collar_friction" in values) != ("collar_diameter" in values):
        raise InputProblem("a collar's torque needs both: expected collar-friction and collar-diameter")
    diameter = number(values, "pitch_diameter", size.pitch_diameter_metre if size else None if friction else _ANY)
    lead = number(values, "lead", size.lead_metre if size else None)
    return Screw(
        pitch_diameter_metre=diameter,
        lead_metre=lead,
        friction=friction,
        half_angle_degree=HALF_ANGLE_DEGREE[form],
        collar_friction=number(values, "collar_friction", 0.0),
        collar_diameter_metre=number(values, "collar_diameter", 0.0),
        length_metre=number(values, "length", 0.0) if "pitch_diameter" in values or size else 0.0,
        density_kilogram_per_metre3=number(values, "density", STEEL_KILOGRAM_PER_METRE3),
        screws=int(number(values, "screws", 1)),
    )


_ANY = 1.0  # the pitch diameter drops out of the torque where there is no friction


def _pulling(values: Values, teeth: str, diameter: str) -> float:
    """Diameter at which a pulley or pinion pulls."""
    if diameter in values:
        if teeth in values or "pitch" in values or "module" in values:
            raise InputProblem(f"{diameter} and teeth: expected one of them".replace("_", "-"))
        return number(values, diameter)
    if "module" in values:
        _one_of(values, "module", "pitch")
        return number(values, teeth) * number(values, "module")
    return toothed(number(values, teeth), number(values, "pitch"))


def axis_of(kind: str, values: Values) -> Axis:
    """The axis that was described. Raises InputProblem and NotEnoughKnown."""
    drive: Drive
    inertia = number(values, "inertia", 0.0)
    if kind == "screw":
        drive = screw_of(values)
    elif kind == "belt":
        drive = Wheel(_pulling(values, "pulley_teeth", "pulley_diameter"), inertia)
    elif kind == "rack":
        drive = Wheel(_pulling(values, "pinion_teeth", "pinion_diameter"), inertia)
    elif kind == "drum":
        line, layer = number(values, "line", 0.0), int(number(values, "layer", 1))
        drive = Wheel(drum_diameter(number(values, "diameter"), line, layer), inertia)
    else:
        if "mass" in values:
            bore, outside = number(values, "bore", 0.0), number(values, "diameter")
            if bore >= outside:
                raise InputProblem("bore: a ring's bore is smaller than its diameter: expected less")
            inertia += disc_inertia(number(values, "mass"), outside, bore)
        elif "inertia" not in values:
            raise NotEnoughKnown("what turns is not given", remedy="give --mass and --diameter, or --inertia")
        # A wheel of one metre's radius: its metres are radians, its newtons newton metres.
        drive = Wheel(2.0, inertia)
    load = Load(
        mass_kilogram=0.0 if kind == "table" else number(values, "mass", 0.0),
        force_newton=number(values, "load_torque" if kind == "table" else "force", 0.0),
        friction=number(values, "slide_friction" if kind == "screw" else "friction", 0.0),
        incline_degree=number(values, "incline", 0.0),
        gravity_metre_per_s2=number(values, "gravity", GRAVITY_METRE_PER_S2),
    )
    axis = Axis(
        drive,
        load,
        gear=number(values, "gear", 1.0),
        efficiency=number(values, "efficiency", 1.0),
        drag_newton_metre=number(values, "drag", 0.0),
        motors=int(number(values, "motors", 1)),
    )
    if "torque" not in values:
        return axis
    if load.against_newton:
        raise InputProblem("torque and a load: expected one of them, the torque says what force it makes")
    force = axis.force_at(number(values, "torque"))
    if force <= 0:
        raise InputProblem("torque: the drag alone takes more than this torque")
    return Axis(drive, Load(force_newton=force), axis.gear, axis.efficiency, axis.drag_newton_metre, axis.motors)


def motor_of(values: Values) -> Motor:
    """What was said of the motor."""
    return Motor(
        steps_per_turn=number(values, "steps", 200),
        microsteps=int(number(values, "microsteps", 1)),
        torque_newton_metre=_maybe(values, "motor_torque"),
        holding_newton_metre=_maybe(values, "holding_torque"),
        rotor_inertia_kilogram_metre2=_maybe(values, "rotor_inertia"),
    )


def _maybe(values: Values, key: str) -> float | None:
    return number(values, key) if key in values else None


def rate_sps(axis: Axis, motor: Motor, kind: str, values: Values) -> float | None:
    """Full steps/s that the speed wanted, or the rate proved, comes to; None where neither was said."""
    _one_of(values, "speed", "rate")
    if "rate" in values:
        return number(values, "rate")
    if "speed" not in values:
        return None
    speed = number(values, "speed") * (2 * math.pi if kind == "table" else 1)
    return axis.turns(speed) * motor.steps_per_turn
