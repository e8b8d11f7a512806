"""What can be typed about a driver."""

from __future__ import annotations

from coilbench.stages.form import Field

FULL_STEP = "full"  # typed in place of a number of microsteps

FIELDS = (
    Field("chip", "chip", "A4988", "The chip that is printed on the driver."),
    Field("sense", "sense", "its marking", "The marking on the resistors beside the chip, or their ohms."),
    Field(
        "current",
        "peak",
        "amps, peak",
        "The peak current of a coil. What is filled in by itself is the motor's rating, RMS with two phases on.",
        "ampere",
        "A",
    ),
    Field("supply", "supply", "volts", "The motor supply. May stay empty: less can then be judged.", "volt", "V"),
    Field("steps", "steps", "16", "Microsteps to a full step, or full."),
    Field(
        "measured",
        "measured",
        "VREF volts",
        "A measured reference voltage: says the current it means.",
        "volt",
        "V",
    ),
    Field(
        "series",
        "resistors",
        "15 ohm",
        "Resistors fitted to a driver that doesn't chop, the ohms of each: in the common lead (five leads have one, "
        "for both phases), or write 30 ohm ends for one in each end lead.",
    ),
    Field("clamp", "clamp", "zener 24 V", "What is in the clamp's lead: diode for the chip's own alone, or a zener."),
    Field(
        "sink",
        "heat sink",
        "yes",
        "A heat sink on the chip: yes for a usual one, or its own figure such as 15 K/W.",
    ),
    Field("own", "made for", "12 V", "The winding's own voltage, as its label may say.", "volt", "V", shown=False),
    Field("leads", "leads", "5", "Of a two-phase motor: 4, 5, 6 or 8.", shown=False),
    Field("resistor", "set resistor", "78k", "The resistor on the set pin.", "ohm", "ohm", shown=False),
    Field("rms", "RMS", "yes", "Whether the current is RMS, not peak.", shown=False),
    Field("gain", "gain", "8", "Of a chip that is not in the table.", shown=False),
    Field("torque", "torque", "50 %", "The share set by the chip's torque pins.", "percent", "%", shown=False),
    Field("decay", "decay", "mixed", "How the board straps the decay pin.", shown=False),
    Field("trimmer", "trimmer", "3.3 V", "The voltage at the trimmer's far end.", "volt", "V", shown=False),
    Field("logic", "logic", "3.3 V", "The controller's logic level.", "volt", "V", shown=False),
    Field("air", "air", "40 °C", "The air around the driver.", "celsius", "C", positive=False, shown=False),
    Field("off_ohm", "off resistor", "43k", "The resistor that sets the chip's off time.", "ohm", "ohm", shown=False),
    Field("off_farad", "off capacitor", "470 pF", "The capacitor beside it.", "farad", shown=False),
    Field("coil", "ohms", "34 ohm", "Of one coil as connected.", "ohm", "ohm", shown=False),
    Field("inductance", "inductance", "20 mH", "Of one coil as connected.", "henry", "mH", shown=False),
)
BY_ID = {each.id: each for each in FIELDS}
