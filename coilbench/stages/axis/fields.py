"""What can be said of an axis: each thing with its unit and its limits."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace

from coilbench.errors import InputProblem
from coilbench.quantity import QuantityError, parse_quantity

Texts = Mapping[str, str]
Values = dict[str, float | str]

ENDS = ("fixed-free", "supported-supported", "fixed-supported", "fixed-fixed")
_NUMBER = re.compile(r"[-+]?[0-9]*[.,]?[0-9]+")
FORMS = ("square", "metric", "trapezoidal", "acme")


@dataclass(frozen=True, slots=True)
class AxisField:
    """One thing that is said of an axis. ``unit`` is its SI unit as ``quantity`` names it; ``number`` for a plain
    number between ``least`` and ``most``, ``count`` for a whole one, ``share`` for one up to 1 or in per cent,
    ``text`` for words, of which ``choices`` are all there are where it names any. ``bare`` is the unit of a number
    alone, where the trade has one."""

    id: str
    help: str
    unit: str
    least: float = 0.0
    most: float = math.inf
    choices: tuple[str, ...] = ()
    bare: str = ""

    @property
    def key(self) -> str:
        """As it is written on options and in files."""
        return self.id.replace("_", "-")

    def value(self, text: str) -> float | str:
        """What the text says, in the SI unit. Raises InputProblem, which names the field."""
        text = " ".join(text.split())
        try:
            if self.unit == "text":
                if self.choices and text not in self.choices:
                    raise QuantityError(f"{text!r}, expected one of {', '.join(self.choices)}")
                return text
            if self.unit not in ("number", "count", "share"):
                alone = self.bare and _NUMBER.fullmatch(text)
                value = parse_quantity(f"{text} {self.bare}" if alone else text, self.unit, positive=self.least > 0)
            elif self.unit == "share" and text.endswith("%"):
                value = parse_quantity(text, "percent", positive=False) / 100
            else:
                value = _plain_number(text)
        except QuantityError as problem:
            raise InputProblem(f"{self.key}: {problem.happened}") from None
        if not self.least <= value <= self.most or (self.unit == "count" and value != round(value)):
            raise InputProblem(f"{self.key}: {text!r} can't be, expected {self._range()}")
        return value

    def _range(self) -> str:
        kind = "a whole number" if self.unit == "count" else "a number"
        least = "" if not math.isfinite(self.least) else f" from {self.least:g}"
        return kind + least + ("" if self.most == math.inf else f" to {self.most:g}")


def _plain_number(text: str) -> float:
    try:
        value = float(text.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or len(text) > 20:
        raise QuantityError(f"{text[:40]!r} is no number, expected one without a unit, such as 0.15")
    return value


_LENGTH = "metre"
_TINY = 1e-9  # above zero

_LOAD = (
    AxisField("mass", "what is moved", "kilogram"),
    AxisField("force", "at the tool, against the working move", "newton"),
    AxisField("incline", "how far the slide rises: 0 deg level, 90 deg a lift", "degree", most=90),
    AxisField("gravity", "of the place (9.80665 m/s2)", "metre_per_second2", least=_TINY),
)
_SHAFT = (
    AxisField("gear", "turns of the motor for one of the drive (1)", "number", least=0.001, most=10_000),
    AxisField("efficiency", "of gear, belt and all that no friction figure covers (1)", "share", least=0.01, most=1),
    AxisField("drag", "steady friction torque at the drive's shaft", "newton_metre"),
    AxisField("motors", "motors that share the work (1)", "count", least=1, most=8),
    AxisField("torque", "of the motor: says what force the axis makes of it", "newton_metre", least=_TINY),
    AxisField("steps", "full steps a turn (200)", "number", least=2, most=10_000),
    AxisField("microsteps", "to a full step (1)", "count", least=1, most=256),
    AxisField("acceleration", "along the axis", "metre_per_second2", least=_TINY),
    AxisField("distance", "of a move", _LENGTH, least=_TINY),
    AxisField("rate", "full steps/s the motor was proved at: says how fast the axis is", "number", least=0.01),
    AxisField("motor_torque", "what the motor pulls at that speed", "newton_metre", least=_TINY),
    AxisField("holding_torque", "of the motor", "newton_metre", least=_TINY),
    AxisField("rotor_inertia", "of the motor", "kilogram_metre2", least=_TINY * 1e-3),
    AxisField("resolution", "to reach", _LENGTH, least=_TINY),
    AxisField("controller", "pulses a second the controller can make", "hertz", least=1),
)
_SPEED = (AxisField("speed", "target speed along the axis, such as 20 mm/s", "metre_per_second", least=_TINY),)
_SLIDE = (AxisField("friction", "of the slide, 0.03 to 0.2 for a table on ways", "number", most=2),)
_INERTIA = AxisField("inertia", "of pulleys, drum or whatever turns with them", "kilogram_metre2")

_TURNING = {"acceleration": "radian_per_second2", "distance": "degree", "resolution": "degree"}

KINDS: dict[str, tuple[AxisField, ...]] = {
    "screw": (
        AxisField("thread", f"{', '.join(FORMS)}, or a size such as M8, M8x1, Tr8x8(P2)", "text"),
        AxisField("pitch_diameter", "of the thread", _LENGTH, least=_TINY),
        AxisField("lead", "travel of a turn: pitch times starts", _LENGTH, least=_TINY),
        AxisField("friction", "of the thread, such as 0.15", "number", most=1),
        AxisField("materials", "instead of friction: 'steel on brass, oiled', screw first", "text"),
        AxisField("collar_friction", "where the thrust rubs; none for a ball bearing", "number", most=1),
        AxisField("collar_diameter", "mean diameter of what rubs", _LENGTH),
        AxisField("slide_friction", "of the slide, 0.03 to 0.2 for a table on ways", "number", most=2),
        AxisField("root_diameter", "of the thread, for its speed and push limits", _LENGTH, least=_TINY),
        AxisField("length", "of the screw between its bearings", _LENGTH, least=_TINY),
        AxisField("ends", f"how it is held: {', '.join(ENDS)}", "text", choices=ENDS),
        AxisField("density", "of the screw (7850 kg/m3, steel)", "kilogram_per_metre3", least=1),
        AxisField("screws", "that one motor turns together by a belt (1)", "count", least=1, most=8),
        *_LOAD, *_SPEED, *_SHAFT,
    ),
    "belt": (
        AxisField("pulley_teeth", "of the pulley that drives", "count", least=6, most=500),
        AxisField("pitch", "of the belt", _LENGTH, least=_TINY),
        AxisField("pulley_diameter", "instead: where the belt runs", _LENGTH, least=_TINY),
        _INERTIA, *_SLIDE, *_LOAD, *_SPEED, *_SHAFT,
    ),
    "rack": (
        AxisField("pinion_teeth", "of the pinion", "count", least=6, most=500),
        AxisField("pitch", "of the rack along it (pi times the module)", _LENGTH, least=_TINY),
        AxisField("module", "instead of the pitch", _LENGTH, least=_TINY),
        AxisField("pinion_diameter", "instead: pitch diameter", _LENGTH, least=_TINY),
        _INERTIA, *_SLIDE, *_LOAD, *_SPEED, *_SHAFT,
    ),
    "drum": (
        AxisField("diameter", "of the bare drum", _LENGTH, least=_TINY),
        AxisField("line", "thickness of the line", _LENGTH),
        AxisField("layer", "which layer the line lies in (1)", "count", least=1, most=20),
        AxisField("line_construction", "of a wire rope, such as 7x7", "text"),
        AxisField("free_length", "of the line between drum and load", _LENGTH, least=_TINY),
        _INERTIA, *_SLIDE, *_LOAD, *_SPEED, *_SHAFT,
    ),
    "table": (
        AxisField("mass", "of the disc", "kilogram"),
        AxisField("diameter", "of the disc", _LENGTH, least=_TINY),
        AxisField("bore", "of a ring", _LENGTH),
        AxisField("inertia", "instead, or of what is on it", "kilogram_metre2"),
        AxisField("load_torque", "against the working move", "newton_metre"),
        AxisField("speed", "target speed, such as 30 rpm or 90 deg/s", "hertz", least=_TINY),
        *(replace(each, unit=_TURNING.get(each.id, each.unit)) for each in _SHAFT),
    ),
}  # fmt: skip


KIND_WORDS = {
    "screw": "a lead screw or a threaded rod",
    "belt": "a toothed belt on a pulley",
    "rack": "a pinion on a rack",
    "drum": "a line or rope on a drum",
    "table": "something that turns: a table, a wheel, an arm",
}


def read(kind: str, texts: Texts, kinds: Mapping[str, tuple[AxisField, ...]] = KINDS) -> Values:
    """The values of all texts that say something. Raises InputProblem that names the field.

    A key that the kind, one of ``kinds``, doesn't have is refused, too.
    """
    fields = {each.id: each for each in kinds[kind]}
    known = {each.key: each for each in kinds[kind]}
    values: Values = {}
    for key, text in texts.items():
        field = fields.get(key) or known.get(key)
        if field is None:
            raise InputProblem(f"{key!r} says nothing of a {kind}, expected one of {', '.join(known)}")
        if text.strip():
            values[field.id] = field.value(text)
    return values
