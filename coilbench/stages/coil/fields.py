"""What can be said of one coil, by what is asked of it."""

from __future__ import annotations

from dataclasses import replace

from coilbench.stages.axis.fields import AxisField

_TINY = 1e-15  # above zero

_CURRENT = AxisField("current", "that flows in the coil", "ampere", least=_TINY)
_INDUCTANCE = AxisField("inductance", "of the coil, such as 2.3 mH, or 1 uF at 2.8 kHz", "henry", least=_TINY)
_COIL = AxisField("coil", "its ohms", "ohm", least=_TINY)
_SUPPLY = AxisField("supply", "the motor supply", "volt", least=_TINY)

_KINDS: dict[str, tuple[AxisField, ...]] = {
    "decay": (
        _CURRENT,
        _INDUCTANCE,
        _COIL,
        AxisField("time_constant", "instead of one of them: to 37 %, the coil shorted", "second", least=_TINY),
        AxisField("energy", "instead of one of them: what the coil holds", "joule", least=_TINY),
        AxisField("clamp", "diode (taken otherwise), or a zener with a diode, such as 'zener 24 V'", "text"),
        AxisField("across", "instead: volts across the coil meanwhile, whatever makes them", "volt", least=_TINY),
        AxisField("resistor", "in series with the diode", "ohm", least=_TINY),
        _SUPPLY,
        AxisField("often", "how often it is switched off, such as 250 Hz", "hertz", least=_TINY),
    ),
    "drive": (
        _COIL,
        _SUPPLY,
        AxisField("series", "the series resistor of a phase", "ohm"),
        AxisField("current", "wanted instead: tells the resistor, or the supply", "ampere", least=_TINY),
        AxisField("drop", "volts that the switches keep", "volt"),
        _INDUCTANCE,
    ),
    "resonance": (
        AxisField("capacitor", "across the coil, such as 100 nF or 4n7", "farad", least=_TINY),
        AxisField("frequency", "where the volts peak, such as 2.8 kHz", "hertz", least=_TINY),
        AxisField("inductance", "instead of one of them", "henry", least=_TINY),
        AxisField("tolerance", "of the capacitor, such as 5 %", "share", most=0.5),
        AxisField("coil", "its ohms, for how sharp the peak is", "ohm", least=_TINY),
    ),
}  # fmt: skip
# What a number alone is in: the trade writes these in one unit.
_ALONE = {"ampere": "A", "volt": "V", "ohm": "ohm", "henry": "mH", "hertz": "Hz"}
KINDS = {
    kind: tuple(replace(field, bare=_ALONE.get(field.unit, "")) for field in fields)
    for kind, fields in _KINDS.items()
}

SAYS = {
    "decay": "how the current of a coil dies when its switch opens, by what clamps it",
    "drive": "L/R drive: what a supply and a series resistor make flow, and their heat",
    "resonance": "inductance by the capacitor it rings with, and back",
}
HOW = {
    "resonance": "A film capacitor across the coil, a signal generator to it through 10 kilohm or more, a scope or "
    "an AC meter across: the frequency where the volts peak. The other coils open, the rotor at rest. Near 1 kHz if "
    "you can: iron makes the inductance less higher up (common practice).",
}
CAUTIONS = {
    "decay": "a coil that is opened without a clamp kicks to hundreds of volts: fingers off its leads",
    "drive": "the resistors get hot enough to burn, and nothing limits a stuck current: a fuse in the supply",
    "resonance": "motor off every driver and supply: the generator alone drives it",
}
