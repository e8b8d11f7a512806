"""The demo's motors: the crate of a village repair workshop. All of it is invented.

The workshop builds a greenhouse vent opener, a turntable and a seed-tray feeder out of it. Nothing heavy is imported
here: the demo's first screen waits for this table.
"""

from __future__ import annotations

from coilbench.board.virtual.motor import VirtualMotor
from coilbench.board.virtual.windings import Windings

DEMO_MOTORS = (
    VirtualMotor(
        "M-01", Windings("bipolar-4", ("black", "green", "red", "blue"), 2.4), "flat-bed scanner", "NEMA 17"
    ),
    VirtualMotor(
        "M-02", Windings("unipolar-6", ("BK", "YE", "GN", "RD", "WH", "BU"), 24.0), "wide printer", "NEMA 23"
    ),
    VirtualMotor(
        "M-03", Windings("unipolar-5", ("RD", "OG", "YE", "PK", "BU"), 52.0, turns=-1),
        "tin can from a flap", "35 mm can",
    ),
    VirtualMotor(
        "M-04", Windings("split-8", ("BK", "OG", "RD", "YE", "RD/WH", "YE/WH", "BK/WH", "OG/WH"), 0.9),
        "copier's paper deck", "NEMA 23",
    ),
    VirtualMotor(
        "M-05", Windings("unipolar-6", ("1", "2", "3", "4", "5", "6"), 33.0, dead=(3,)),
        "plug, no colours", "NEMA 17",
    ),
    VirtualMotor(
        "M-06", Windings("bipolar-4", ("brown", "orange", "yellow", "red"), 5.1, leak_ohm=14_000.0),
        "damp cellar find", "NEMA 17",
    ),
    VirtualMotor("M-07", Windings("three-phase-3", ("WH", "BK", "RD"), 1.7), "disk drive spindle"),
    VirtualMotor(
        "M-08", Windings("five-phase-ring-5", ("BU", "RD", "OG", "GN", "BK"), 1.1), "old pen plotter", "NEMA 23"
    ),
    VirtualMotor("M-09", Windings("bipolar-4", ("RD", "GY", "YE", "BK", "GN"), 4.2), "till drawer", "NEMA 17"),
    VirtualMotor(
        "M-10", Windings("unipolar-6", ("VT", "WH", "BN", "GY", "BK", "BU"), 75.0), "typewriter carriage", "NEMA 17"
    ),
    VirtualMotor("M-11", Windings("three-phase-star-4", ("BK", "RD", "YE", "WH"), 3.3), "laser printer's mirror"),
    VirtualMotor(
        "M-12", Windings("split-8", ("A1", "A2", "B1", "B2", "C1", "C2", "D1", "D2"), 1.6, shorted=(1,)),
        "block of eight", "NEMA 34",
    ),
    VirtualMotor(
        "M-13", Windings("bipolar-4", ("black", "green", "red", "blue"), 2.4), "the scanner's other one", "NEMA 17"
    ),
)  # fmt: skip
