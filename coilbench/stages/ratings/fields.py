"""What can be typed at the ratings, form by form."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.stages.form import Field


@dataclass(frozen=True)
class Form:
    """Fields that belong together: how to go about it, and what to beware of. ``fields`` are ids."""

    id: str
    title: str
    says: str
    caution: str
    fields: tuple[str, ...]


FORMS = (
    Form(
        "size",
        "by size",
        "What the body sheds as heat sets the current.",
        "the case gets hot: it burns, softens plastics",
        ("face", "length", "coil", "holds", "rise", "henry"),
    ),
    Form(
        "soak",
        "rise test",
        "Probes together, coil cold. Run at rest, half an hour. Supply off, read at once, then each half minute.",
        "supply off before unplugging; its case is hot",
        ("probes", "cold", "room", "run", "counted", "idle", "hot", "after", "room2"),
    ),
    Form(
        "spin",
        "spun",
        "Motor off everything; spin its shaft with a drill, AC volts across one coil.",
        "motor in a vice, leads taped; mind sleeves",
        ("step", "volts", "hertz", "drill"),
    ),
)
SOAK_FIELDS = FORMS[1].fields
# What tells that a motor is heated, or spun: with it its form's caution is printed.
CAUTIONED = (("soak", ("cold", "hot", "after")), ("spin", ("volts", "hertz", "drill")))

FIELDS = (
    Field("face", "face", "NEMA 17", "The face plate: NEMA 17, 17, 42mm; a round one: 35 mm can."),
    Field("length", "length", "40 mm", "The body without its shaft. Left out, the range gets wider.", "metre", "mm"),
    Field(
        "coil",
        "cold ohms",
        "30 ohm",
        "Ohms of one coil, the motor cold; with 5, 6 and 8 leads of one half-winding: end to its tap.",
        "ohm",
        "ohm",
    ),
    Field(
        "holds",
        "holds",
        "0.26 Nm",
        "Holding torque, where a sheet or a seller prints it: it narrows the current. Two phases on, as is usual.",
        "newton_metre",
    ),
    Field(
        "rise",
        "rise",
        "80 K",
        "How much warmer than the room the winding may get. 80 K is usual (class B), 60 K for round tin cans, which "
        "are often class A. The value to start with never asks more than class A, 60 K.",
        "kelvin",
        "K",
    ),
    Field(
        "henry",
        "inductance",
        "3.2 mH",
        "Of the same winding as the ohms, in mH from a meter; or the time to 63 % of the final current, as 2 ms; or "
        "a film capacitor across the coil and the generator's frequency where the volts peak, as 1 uF at 2.8 kHz.",
        "henry",
        "mH",
    ),
    Field(
        "probes",
        "probes",
        "0.2 ohm",
        "First of all: what the meter reads with its probes held together. Left in, it hides some of the rise.",
        "ohm",
        "ohm",
        positive=False,
    ),
    Field("cold", "cold", "2.8 ohm", "The coil before the run, motor at the room's temperature.", "ohm", "ohm"),
    Field(
        "room",
        "room",
        "25 °C",
        "The room's temperature when the cold reading was taken.",
        "celsius",
        "C",
        positive=False,
    ),
    Field(
        "run",
        "run at",
        "0.5 A",
        "Current through each of two coils in the run: motor at rest, half an hour or until it gets no warmer.",
        "ampere",
        "A",
    ),
    Field(
        "counted",
        "which",
        "peak",
        "Which current that is. coil: a meter in the coil's lead read it. A driver's set-point: peak, as reference "
        "voltages are told, of which each coil carries 71 % at rest; or RMS, where the driver's papers say so.",
    ),
    Field(
        "idle",
        "at rest",
        "50 %",
        "What the driver leaves of the current at rest. Many lower it to half after a second: switch that off, "
        "or say it here.",
        "percent",
        "%",
    ),
    Field(
        "hot",
        "hot",
        "3.6 ohm",
        "The same coil as soon as it is off: supply off, motor off the driver, then the probes.",
        "ohm",
        "ohm",
    ),
    Field(
        "after",
        "cooling",
        "30s:3.55",
        "More readings with their time since switching off, such as 30s:3.55,60s:3.5; the line back through them "
        "finds the hottest moment.",
    ),
    Field(
        "room2",
        "room then",
        "25 °C",
        "The room's temperature at the end, where it has changed.",
        "celsius",
        "C",
        positive=False,
    ),
    Field(
        "step",
        "step",
        "1.8 deg",
        "Step angle, or steps (detents felt) counted in one turn, such as 200 steps, or 1999 steps in 10 turns.",
        "degree",
        "degree",
    ),
    Field("volts", "AC volts", "5.8 V", "Across one coil (half-winding) while the shaft is spun.", "volt", "V"),
    Field("hertz", "hertz", "350 Hz", "The frequency the meter shows beside the volts.", "hertz", "Hz"),
    Field("drill", "or drill", "420 rpm", "The drill's speed, where the meter shows no frequency.", "hertz", "rpm"),
    Field("diameter", "across", "35 mm", "Of a round can.", "metre", "mm", shown=False),
    Field("label", "label", "12V 75 ohm", "What is printed on the motor.", shown=False),
    Field("leads", "leads", "6", "Of a two-phase motor: 4, 5, 6 or 8.", shown=False),
    Field("detents", "detents", "soft", "How the shaft feels, all leads apart: none, soft, firm.", shown=False),
    Field("limit", "AC limit", "400 Hz", "Where the meter's AC range ends.", "hertz", "Hz", shown=False),
    Field("digit", "last digit", "0.1 ohm", "The least that the meter shows.", "ohm", "ohm", shown=False),
    Field("constant", "copper", "iec", "The constant of copper: 235 (iec) or 234.5 (ieee).", shown=False),
)
BY_ID = {each.id: each for each in FIELDS}
