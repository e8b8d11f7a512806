"""The demo's motor turns as the driver stage is set for the one on the desk."""

from __future__ import annotations

import math
from urllib.parse import parse_qs, urlsplit

import pytest
from serial import SerialException

from coilbench.board.virtual.crate import port_motor
from coilbench.board.virtual.ports.protocol_virtual import Serial
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.virtual_port import virtual_port, virtual_ports


def options(known: Facts) -> dict[str, str]:
    return {name: values[0] for name, values in parse_qs(urlsplit(virtual_port(known).url).query).items()}


def test_it_is_about_the_size_of_the_motor_and_driven_as_usual_until_a_driver_is_set() -> None:
    assert virtual_port(Facts()).url == "virtual://bench"
    assert (
        virtual_port(Facts({"intake": Intake(frame="NEMA 23")}), "clock=free").url == "virtual://turntable?clock=free"
    )
    assert virtual_port(Facts({"intake": Intake(frame="35 mm can")})).url == "virtual://tincan"


def test_it_is_offered_twenty_times_as_fast_unless_its_clock_is_told() -> None:
    known = Facts({"driver": Driver(chip="A4988", peak_ampere=1.0)})
    usual, quick = virtual_ports(known)
    assert usual.url == virtual_port(known).url and "clock" not in usual.url
    assert parse_qs(urlsplit(quick.url).query)["clock"] == ["20"] and "twenty times" in quick.words
    assert [each.url for each in virtual_ports(known, "clock=free")] == [virtual_port(known, "clock=free").url]


@pytest.mark.parametrize("clock", ["1", "0.5", "-20", "1e9", "nan", "soon"])
def test_a_clock_that_cannot_be_is_refused(clock: str) -> None:
    with pytest.raises(SerialException, match="could not open port"):
        Serial(f"virtual://bench?clock={clock}")


def test_on_a_fast_clock_host_and_board_go_by_the_same_time() -> None:
    port = Serial("virtual://bench?clock=20", timeout=0.3)
    assert b"hello" in port.read(4096)
    before = port.monotonic()
    assert port.read() == b""
    assert port.monotonic() == port.board.motion.now_s == pytest.approx(before + 0.3, abs=0.021)
    port.close()


def test_the_driver_is_set_to_the_same_share_of_its_motor_s_rating() -> None:
    # Half of what a motor of 0.4 A takes at equal heat: half of the 1.2 A of the one that stands in, as a peak.
    known = Facts({
        "driver": Driver(chip="A4988", peak_ampere=0.2 * math.sqrt(2), supply_volt=24.0),
        "ratings": Ratings(current_ampere=0.4),
    })  # fmt: skip
    given = options(known)
    assert float(given["current"]) == pytest.approx(0.6 * math.sqrt(2), rel=1e-3) and given["supply"] == "24"
    port = Serial(f"{virtual_port(known).url}&clock=free")
    drive = port.board.motion.motor.drive
    assert drive.current_ampere == pytest.approx(0.6, rel=1e-3) and drive.supply_volt == 24
    port.close()
    unrated = Facts({"driver": Driver(chip="A4988", peak_ampere=0.7)})
    assert options(unrated) == {"current": "0.7"}


def test_a_peak_is_halved_in_power_by_full_steps() -> None:
    motor = port_motor("bench")
    assert motor.running(peak_ampere=1.0).drive.current_ampere == pytest.approx(math.sqrt(0.5))
    assert motor.running(peak_ampere=1.0, microsteps=8).drive.current_ampere == 1.0
    assert motor.running().drive == motor.mechanics.drive  # type: ignore[union-attr]
    for wrong in ({"peak_ampere": 0.0}, {"peak_ampere": math.nan}, {"supply_volt": -5.0}):
        with pytest.raises(ValueError, match="must be"):
            motor.running(**wrong)
