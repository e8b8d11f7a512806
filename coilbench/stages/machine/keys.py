"""What a machine file can say, beside what ``stages.axis`` knows of an axis."""

from __future__ import annotations

from coilbench.stages.axis.fields import KINDS, AxisField

_TINY = 1e-9

SUPPLY = (
    AxisField("name", "what you call it", "text"),
    AxisField("volt", "of the supply", "volt", least=_TINY),
    AxisField("most", "current it can give all the time", "ampere", least=_TINY),
    AxisField("computer", "a computer's supply: 250 W, 300 W or 400 W", "text"),
    AxisField("rail", "of the computer's supply: 12V1, 12V2, 5V or 3.3V", "text"),
)
DRIVER = (
    AxisField("name", "what you call it", "text"),
    AxisField("chip", "such as DRV8825", "text"),
    AxisField("most", "current it carries, as its peak, where the chip isn't known", "ampere", least=_TINY),
    AxisField("kind", "bipolar or unipolar", "text", choices=("bipolar", "unipolar")),
    AxisField("count", "how many there are", "count", least=1, most=1000),
    AxisField("sense", "its sense resistor, such as R100", "text"),
)
OF_THE_MACHINE = (
    AxisField("name", "what you call it", "text"),
    AxisField("kind", ", ".join(KINDS), "text", choices=tuple(KINDS)),
    AxisField("driver", "by its name", "text"),
    AxisField("supply", "by its name", "text"),
    AxisField("motors", "that share the work", "count", least=1, most=2),
    AxisField("motor_mass", "of each motor, where another axis carries it", "kilogram", least=_TINY),
    AxisField("margin", "to keep: 2, or 1.5 where the load was measured", "number", least=1, most=10),
)
LISTS = ("carries", "motor")  # several texts
_NAMES = {
    "carries": AxisField("carries", "axes that ride on this one, with commas", "text"),
    "motor": AxisField("motor", "of the bin, where it is settled; two with a comma", "text"),
}
_OF_THE_MOTOR = {"torque", "rate", "steps", "motor_torque", "holding_torque", "rotor_inertia"}


def form_fields(kind: str) -> list[AxisField]:
    """The fields of an axis as a form asks for them: its name, what it is, then where it sits in the machine."""
    fields = axis_fields(kind)
    own = {each.key for each in OF_THE_MACHINE}
    of_kind = [each for key, each in fields.items() if key not in own]
    placed = [each for key, each in fields.items() if key in own and key not in ("name", "kind")]
    return [fields["name"], *of_kind, *placed, *_NAMES.values()]


def axis_fields(kind: str) -> dict[str, AxisField]:
    """The fields of an axis in a machine file, by their key: what follows from the motor isn't said."""
    own = {each.id for each in OF_THE_MACHINE}
    of_kind = [each for each in KINDS[kind] if each.id not in _OF_THE_MOTOR | own]
    return {each.key: each for each in (*OF_THE_MACHINE, *of_kind)}
