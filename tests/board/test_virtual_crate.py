"""The crate's windings as the virtual meter and the tests by hand find them; which motor stands in on a port."""

from __future__ import annotations

import math

import pytest

from coilbench.board.virtual.crate import VirtualCrate, port_motor, port_name
from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.board.virtual.meter import VirtualMeter
from coilbench.board.virtual.port_motors import PORT_MOTORS
from coilbench.errors import CoilbenchError
from coilbench.winding.order.types import NextTest


@pytest.mark.parametrize("motor", PORT_MOTORS, ids=lambda motor: motor.name)
def test_a_coil_has_the_resistance_of_the_figures(motor) -> None:
    assert motor.windings.resistance_ohm[0, 1] == pytest.approx(motor.mechanics.body.figures.resistance_ohm)


def test_the_meter_reads_any_motor() -> None:
    meter, crate = VirtualMeter(gain=0.01, probes_ohm=0.3), VirtualCrate()
    assert meter.measure(port_motor("tincan"), "black", "green") == 20.5  # 20 ohm, 1 % over, probes 0.3 ohm
    assert meter.measure(port_motor("tincan"), "black", "red") == math.inf
    assert crate.measure("M-06", "brown", "frame") == 14_080  # a leak of 14 kohm, display in steps of 10 ohm
    assert crate.measure("M-05", "5", "6") == math.inf  # a dead half
    assert crate.measure("M-01", "probes", "probes") == 0.2


def test_a_motor_that_turns_the_other_way() -> None:
    crate = VirtualCrate()
    test = NextTest("twitch", "OG", "YE", (), (), (), "", {})
    assert crate.twitch("M-03", test) == "ccw"
    assert crate.motor("M-03").windings.places == {"OG": 0, "BU": 1, "PK": 2, "YE": 3}


def test_the_crate_knows_a_motor_by_its_new_name_alone() -> None:
    crate = VirtualCrate()
    crate.rename("M-02", "wide")
    crate.rename("wide", "wider")
    crate.rename("my own", "mine")
    assert crate.motor("wider").name == "M-02"
    assert not crate.has("wide") and not crate.has("mine")
    with pytest.raises(CoilbenchError, match="a motor of your own"):
        crate.motor("mine")


def test_every_frame_of_the_demo_has_its_motor_on_a_port() -> None:
    named = {motor.name: port_name(motor.frame) for motor in DEMO_MOTORS}
    assert {port_motor(name).name for name in named.values()} == {"bench", "turntable", "tincan"}
    assert (named["M-01"], named["M-03"], named["M-07"], named["M-12"]) == ("bench", "tincan", "bench", "turntable")
