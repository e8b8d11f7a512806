"""board_config.h, the one page to edit: other wirings work as well, those that can't are refused by the compiler."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from tests.firmware import measure, rig, toolchain

# Other ports, two of them out of reach of one instruction on the ATmega2560; all levels the other way round.
OTHER: dict[str, tuple[dict[str, Any], dict[str, Any]]] = {
    "atmega328p": (
        {"STEP_PIN": 8, "DIR_PIN": 9, "ENABLE_PIN": 10, "INDEX_PIN": 3}
        | {"COIL_1_PIN": 7, "COIL_2_PIN": 4, "COIL_3_PIN": 6, "COIL_4_PIN": 5, "CLIP_PINS": "{ 4, 5, 11, 12 }"},
        {"step": "B0", "dir": "B1", "enable": "B2", "index": "D3", "coils": ("D7", "D4", "D6", "D5")},
    ),
    "atmega2560": (
        {"STEP_PIN": 30, "DIR_PIN": 8, "ENABLE_PIN": 9, "INDEX_PIN": 3}
        | {"COIL_1_PIN": 49, "COIL_2_PIN": 47, "COIL_3_PIN": 48, "COIL_4_PIN": 46, "CLIP_PINS": "{ 31, 49, 46 }"},
        {"step": "C7", "dir": "H5", "enable": "H6", "index": "E5", "coils": ("L0", "L2", "L1", "L3")},
    ),
}
INVERTED = {"ENABLE_ACTIVE": 1, "COIL_ACTIVE": 0}


def other_board(chip: str) -> Any:
    """A board with everything elsewhere."""
    config, pins = OTHER[chip]
    return rig.open_simulated_board(chip, config | INVERTED, pins)


def test_outputs_are_off_from_the_first_instruction(chip_name: str) -> None:
    with other_board(chip_name) as port:
        chip = port.chip
        for _ in range(2000):
            chip.run(5)
            assert chip.is_driven_high(chip.pins["enable"]) is not True
            assert all(chip.is_driven_high(pin) is not False for pin in chip.pins["coils"])
        chip.run_ms(200)
        assert chip.is_driven_high(chip.pins["enable"]) is False
        assert [chip.is_driven_high(pin) for pin in chip.pins["coils"]] == [True] * 4


def test_steps_elsewhere_are_as_good(chip_name: str) -> None:
    with other_board(chip_name) as port:
        host, chip = rig.Host(port), port.chip
        driver = host.ask("pins", of="driver").fields
        assert driver["step"] == OTHER[chip_name][0]["STEP_PIN"] and driver["active"] == 1
        row = measure.measure_move(host, 100_000, index=False, busy_line=True, seconds=0.2)
        assert row.steps_made == 45_000 and row.jitter <= 20 and row.high >= 40 and row.low >= 40
        assert chip.is_driven_high(chip.pins["enable"]) is True
        chip.forget_edges()
        host.ask("trip", steps=-50, start=5000, run=5000, gain=1000, rest=0, back=5000)
        host.run_to_stop(beat_ms=20)
        rises = chip.rises(chip.pins["step"])
        turns = chip.edges(chip.pins["dir"])["cycle"].astype(np.int64)
        assert len(rises) == 100 and len(turns)
        assert all(np.abs(rises - turn).min() >= 80 for turn in turns)
        host.ask("stop")
        assert chip.is_driven_high(chip.pins["enable"]) is False


def test_coils_elsewhere(chip_name: str) -> None:
    """At the highest rate; a lit line is low."""
    with other_board(chip_name) as port:
        host, chip = rig.Host(port), port.chip
        host.ask("drive", by="coils", form="full")
        host.ask("outputs", on=1)
        assert [chip.is_driven_high(pin) for pin in chip.pins["coils"]] == [False, False, True, True]
        host.ask("move", steps=20_001, start=2000, run=60_000, gain=300_000)
        assert host.run_to_stop(beat_ms=40).fields["pos"] == 20_001
        assert [chip.is_driven_high(pin) for pin in chip.pins["coils"]] == [True, False, False, True]
        host.ask("stop")
        assert [chip.is_driven_high(pin) for pin in chip.pins["coils"]] == [True] * 4


def test_clips_elsewhere_on_coil_lines_that_are_off_when_high(chip_name: str) -> None:
    with other_board(chip_name) as port:
        host, chip = rig.Host(port), port.chip
        assert len(host.ask("pins", of="clips").fields) == OTHER[chip_name][0]["CLIP_PINS"].count(",") + 1
        shared = [pin for pin in chip.pins["coils"] if pin in ("D4", "D5", "L0", "L3")]
        host.ask("drive", by="clips")
        host.ask("stop")
        assert [chip.is_driven_high(pin) for pin in shared] == [None, None]
        assert host.refused("pair", high=1, low=2).word == "wire"  # there is no jig
        assert [chip.is_driven_high(pin) for pin in shared] == [None, None]
        host.ask("drive", by="coils")
        assert [chip.is_driven_high(pin) for pin in chip.pins["coils"]] == [True] * 4


def test_the_other_index_pin(chip_name: str) -> None:
    with other_board(chip_name) as port:
        host, pin = rig.Host(port), port.chip.pins["index"]
        port.chip.drive(pin, 0)
        host.wait(5)
        host.ask("zero")
        for level in (1, 0):
            port.chip.drive(pin, level)
            host.wait(5)
        assert host.ask("index").fields["count"] == 2


@pytest.mark.parametrize(
    ("config", "complaint"),
    [
        ({"STEP_PIN": 6}, "a pin is used twice"),
        ({"COIL_1_PIN": 3, "COIL_2_PIN": 4, "COIL_3_PIN": 3, "COIL_4_PIN": 4}, "twice|one port"),
        ({"ENABLE_PIN": 13}, "boot loader"),
        ({"DIR_PIN": 1}, "serial line"),
        ({"INDEX_PIN": 4}, "INDEX_PIN must be 2 or 3"),
        ({"ENABLE_PIN": 70}, "no such pin|out of bound|outside the bounds|past the end"),
        ({"ENABLE_ACTIVE": 2}, "0 or 1"),
        ({"BANDGAP_MILLIVOLT": 1}, "1100 mV"),
        ({"CLIP_PINS": "{ 12, 5 }"}, "clip's pin"),
        ({"CLIP_PINS": "{ 12, 4, 12 }"}, "clip's pin"),
        ({"CLIP_PINS": "{ 12 }"}, "2 to 8 clips"),
    ],
)
def test_what_can_not_work_is_refused(chip_name: str, config: dict[str, int | str], complaint: str) -> None:
    with pytest.raises(RuntimeError, match=complaint):
        toolchain.sketch_elf(chip_name, config)


@pytest.mark.parametrize("config", [{"STEP_PIN": 8}, {"COIL_4_PIN": 20}])
def test_ports_out_of_reach_are_refused(config: dict[str, int]) -> None:
    with pytest.raises(RuntimeError, match=r"single-instruction|one port"):
        toolchain.sketch_elf("atmega2560", config)


@pytest.mark.long("sketch")
def test_the_large_boards_elder() -> None:
    """The third chip that there is an image for: same pins, same steps, both banks of analogue inputs."""
    with rig.open_simulated_board("atmega1280") as port:
        host, chip = rig.Host(port), port.chip
        assert host.hello.fields["chip"] == "atmega1280"
        assert host.ask("pins", of="coils").fields == {"a": 22, "b": 23, "c": 24, "d": 25, "active": 1}
        for channel in (0, 9):
            chip.analog(channel, 1000 + 100 * channel)
            assert host.ask("read", channel=channel).fields["mv"] == pytest.approx(1000 + 100 * channel, abs=30)
        row = measure.measure_move(host, 100_000, index=True, busy_line=True, seconds=0.2)
        assert row.steps_made == 45_000 and row.jitter <= 45 and row.high >= 40 and row.low >= 40
        host.port.write(b"\x1b")
        chip.run_ms(1)
        assert chip.outputs_off
