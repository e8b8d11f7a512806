"""Verdicts on windings as the engine gives them, for tests of what is said and kept of them."""

from __future__ import annotations

from coilbench.winding.engine.verdict import Coil, Fault, Verdict

LEADS = ("red", "blue", "white", "green", "black", "[/x]")
SIX = Verdict(
    LEADS,
    "unipolar-6",
    0.998,
    (
        Coil("A", ("red", "blue"), "white", 48.2, 0.3, alive=True),
        Coil("B", ("green", "black"), "[/x]", 48.25678, 0.3, alive=True),
    ),
    cannot_tell=("which way the shaft turns",),
    readings=7,
    sure=True,
)
ODD = Verdict(
    LEADS,
    "unipolar-6",
    0.6,
    faults=(Fault("open", ("red", "white"), "the half on red and white is open"),),
    repeat=(("red", "blue"),),
)
