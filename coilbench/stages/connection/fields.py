"""What can be typed at the connection: a little about the driver at hand."""

from __future__ import annotations

from coilbench.stages.form import Field

FIELDS = (
    Field("driver", "driver", "A4988", "Your driver's chip, or the most current it carries, as its peak: 1.5 A."),
    Field("supply", "supply", "24 V", "The motor supply: it sets how fast the motor can go.", "volt", "V"),
    Field("speed", "target speed", "300 rpm", "The speed the shaft has to reach, if you know it.", "hertz", "rpm"),
    Field("drive", "driver's kind", "bipolar", "What the driver is: bipolar or unipolar.", shown=False),
    Field("take", "connection", "series", "The connection to take.", shown=False),
    Field("leads", "leads", "6", "Of a two-phase motor: 4, 5, 6 or 8.", shown=False),
    Field("coil", "ohms", "30 ohm", "Of one half-winding.", "ohm", "ohm", shown=False),
    Field(
        "current",
        "current",
        "0.4 A",
        "The rating of one half-winding, RMS, two phases on.",
        "ampere",
        "A",
        shown=False,
    ),
    Field("inductance", "inductance", "20 mH", "Of one half-winding.", "henry", "mH", shown=False),
    Field("most", "driver's limit", "1.5 A", "The most the driver carries, peak.", "ampere", "A", shown=False),
    Field("step", "step angle", "1.8", "Degrees of one full step.", "degree", "degree", shown=False),
)
