"""The motors that can be had on a virtual port, invented, in sizes that are common in scrap.

A coil's resistance is that of the figures.
"""

from __future__ import annotations

from coilbench.board.virtual.mechanics import ChopperDrive, Mechanics, MotorBody
from coilbench.board.virtual.motor import VirtualMotor
from coilbench.board.virtual.windings import Windings
from coilbench.motion.pullout import MotorFigures

_LEADS = ("black", "green", "red", "blue")

PORT_MOTORS = (
    VirtualMotor(
        "bench",
        Windings("bipolar-4", _LEADS, 2.5),
        "document feeder, small hybrid",
        "NEMA 17",
        Mechanics(
            MotorBody(MotorFigures(0.26, 1.2, 2.5, 3.5e-3), 110e-7, 0.012, 0.010, 1.2e-3), ChopperDrive(12.0, 1.2)
        ),
    ),
    VirtualMotor(
        "turntable",
        Windings("bipolar-4", _LEADS, 1.6),
        "large hybrid with a platter as flywheel",
        "NEMA 23",
        Mechanics(
            MotorBody(MotorFigures(0.40, 1.5, 1.6, 2.8e-3), 300e-7, 0.018, 0.015, 2.4e-3), ChopperDrive(12.0, 1.5)
        ),
    ),
    VirtualMotor(
        "vent",
        Windings("bipolar-4", _LEADS, 1.5),
        "vent opener, its screw a constant load",
        "NEMA 17",
        Mechanics(
            MotorBody(MotorFigures(0.45, 1.7, 1.5, 2.8e-3), 140e-7, 0.020, 0.020, 2.4e-3, 0.08),
            ChopperDrive(24.0, 1.7),
        ),
    ),
    VirtualMotor(
        "tincan",
        Windings("bipolar-4", _LEADS, 20.0),
        "tin can of 48 steps a turn",
        "35 mm can",
        Mechanics(
            MotorBody(MotorFigures(0.03, 0.35, 20.0, 18e-3, rotor_teeth=12), 10e-7, 0.003, 0.002, 1.6e-4),
            ChopperDrive(12.0, 0.35),
        ),
    ),
)
