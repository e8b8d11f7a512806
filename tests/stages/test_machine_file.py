"""A machine file: what it can say, and how each slip in it is told."""

from __future__ import annotations

import random

import pytest

from coilbench.errors import InputProblem
from coilbench.stages.machine.example import example_text
from coilbench.stages.machine.file import machine_in
from coilbench.stages.machine.machine import Machine

SUPPLY = '[[supply]]\nname = "block"\nvolt = "24 V"\n'
DRIVER = '[[driver]]\nname = "board"\nchip = "DRV8825"\n'
AXIS = '[[axis]]\nname = "vent"\nkind = "screw"\nthread = "M8"\nfriction = 0.2\nmass = "4 kg"\nspeed = "2 mm/s"\n'
OTHER = (
    '[[axis]]\nname = "slide"\nkind = "belt"\npulley-teeth = 20\npitch = "2 mm"\nmass = "1 kg"\nspeed = "9 mm/s"\n'
)


def read(*parts: str) -> Machine:
    return machine_in("".join(parts), "bench.toml")


def refused(*parts: str) -> str:
    with pytest.raises(InputProblem) as caught:
        read(*parts)
    said = str(caught.value)
    assert said.startswith("bench.toml") and "\n" not in said
    assert "expected" in said
    return said


def test_the_example_says_what_the_workshop_builds() -> None:
    machine = machine_in(example_text(), "greenhouse.toml")
    assert [each.name for each in machine.axes] == ["vent", "turntable", "slide", "feeder"]
    assert [each.kind for each in machine.axes] == ["screw", "table", "belt", "rack"]
    slide, feeder = machine.axes[2:]
    assert slide.motors == 2 and slide.carries == ("feeder",)
    assert (feeder.supply.volt, feeder.supply.most_ampere) == (12.0, 14.0), "the design guide's second 12 V rail"
    assert [each.name for each in machine.carried_first()] == ["vent", "turntable", "feeder", "slide"]


def test_one_driver_and_one_supply_need_no_naming() -> None:
    machine = read(SUPPLY, DRIVER, AXIS)
    assert machine.axes[0].driver.name == "board" and machine.axes[0].supply.volt == 24.0
    two = read(SUPPLY, SUPPLY.replace("block", "other"), DRIVER, AXIS.replace("kind", 'supply = "other"\nkind'))
    assert two.axes[0].supply.name == "other"
    assert "supply: missing" in refused(SUPPLY, SUPPLY.replace("block", "other"), DRIVER, AXIS)


@pytest.mark.parametrize(
    ("before", "after", "wanted"),
    [
        ("mass", "masss", ["axis 'vent'", "key 'masss'", "expected mass"]),
        ('mass = "4 kg"', 'mass = "4"', ["axis 'vent', mass", "has no unit", "1.2 kg"]),
        ('mass = "4 kg"', "mass = 4", ["axis 'vent', mass", "has no unit"]),
        ('mass = "4 kg"', 'mass = "-4 kg"', ["axis 'vent', mass", "-4 kg"]),
        ('mass = "4 kg"', 'mass = "4 V"', ["axis 'vent', mass", "another kind"]),
        ('mass = "4 kg"', "mass = true", ["axis 'vent', mass", "True", "unit"]),
        ('mass = "4 kg"', "mass = [4]", ["axis 'vent', mass"]),
        ('mass = "4 kg"', "mass = 2026-01-01", ["axis 'vent', mass"]),
        ("friction = 0.2", 'lead = "0 mm"\nfriction = 0.2', ["axis 'vent', lead", "not above zero"]),
        ("friction = 0.2", "friction = nan", ["axis 'vent', friction"]),
        ("friction = 0.2", "friction = 1e999", ["axis 'vent', friction"]),
        ("friction = 0.2\n", "", ["axis 'vent'", "friction is not given", "expected friction"]),
        ("friction = 0.2", "friction = 0.2\nfriction = 0.3", ["line", "TOML"]),
        ('kind = "screw"', 'kind = "wheel"', ["axis 'vent', kind", "screw"]),
        ('kind = "screw"\n', "", ["axis 'vent', kind"]),
        ('speed = "2 mm/s"\n', "", ["axis 'vent', speed: missing"]),
        ('kind = "screw"', 'kind = ["screw"]', ["axis 'vent', kind", "screw"]),
        ("friction = 0.2", 'friction = 0.2\nends = "loose"', ["axis 'vent', ends", "fixed-free"]),
        ("friction = 0.2", 'friction = 0.2\nends = "fixed-free"', ["axis 'vent'", "length is not given"]),
        ('name = "vent"', 'name = ""', ["axis 1, name"]),
        ('name = "vent"', "name = 7", ["axis 1, name"]),
        ("friction = 0.2", "friction = 0.2\nmotors = 3", ["axis 'vent', motors", "1 to 2"]),
        ("friction = 0.2", 'friction = 0.2\nmotors = 2\nmotor = ["M-01"]', ["axis 'vent', motor", "expected 2"]),
        ("friction = 0.2", 'friction = 0.2\nmotor-torque = "1 N m"', ["key 'motor-torque'"]),
        ("friction = 0.2", 'friction = 0.2\ndriver = "x"', ["axis 'vent', driver", "'board'"]),
        ("friction = 0.2", "friction = 0.2\nmargin = 0.5", ["axis 'vent', margin"]),
        ("friction = 0.2", f"friction = {'9' * 5000}", ["a number too long", "TOML"]),
        ("friction = 0.2", f"friction = {'[' * 5000}{']' * 5000}", ["tables too deep", "TOML"]),
        ("thread", "= thread", ["line", "TOML"]),
        ("friction", "[colour]\nfriction", ["'colour'"]),
    ],
)
def test_a_slip_in_an_axis_is_one_line(before: str, after: str, wanted: list[str]) -> None:
    assert before in AXIS
    said = refused(SUPPLY, DRIVER, AXIS.replace(before, after, 1))
    assert all(each in said for each in wanted), said


@pytest.mark.parametrize(
    ("before", "after", "wanted"),
    [
        ('volt = "24 V"\n', "", ["supply 'block', volt"]),
        ('volt = "24 V"', 'volt = "24 mm"', ["supply 'block', volt", "another kind"]),
        ('volt = "24 V"', 'computer = "300 W"', ["supply 'block', rail: missing", "12V1"]),
        ('volt = "24 V"', 'computer = "9 kW"\nrail = "5V"', ["supply 'block', computer", "300 W"]),
        ('chip = "DRV8825"', 'chip = "DRV8852"', ["driver 'board', chip"]),
        ('chip = "DRV8825"\n', "", ["driver 'board', chip"]),
        ('chip = "DRV8825"', 'most = "2 A"', ["driver 'board', kind"]),
        ('chip = "DRV8825"', 'chip = "DRV8825"\ncount = 0', ["driver 'board', count"]),
        ('chip = "DRV8825"', 'chip = "DRV8825"\nsense = "blue"', ["driver 'board', sense", "R100"]),
        ("[[driver]]", "[driver]", ["[[driver]]"]),
        ("[[supply]]", "[[suply]]", ["'suply'", "supply"]),
    ],
)
def test_a_slip_in_a_driver_or_supply_is_one_line(before: str, after: str, wanted: list[str]) -> None:
    whole = SUPPLY + DRIVER + AXIS
    assert before in whole
    said = refused(whole.replace(before, after, 1))
    assert all(each in said for each in wanted), said


def test_two_of_one_name() -> None:
    assert "'vent' is taken" in refused(SUPPLY, DRIVER, AXIS, AXIS)
    assert "'block' is taken" in refused(SUPPLY, SUPPLY, DRIVER, AXIS)


def carrying(axis: str, *names: str) -> str:
    return axis + f"carries = [{', '.join(map(repr, names))}]\n"


def test_a_loop_is_none() -> None:
    assert "a loop" in refused(SUPPLY, DRIVER, carrying(AXIS, "slide"), carrying(OTHER, "vent"))
    assert "a loop" in refused(SUPPLY, DRIVER, carrying(AXIS, "vent"))
    third = OTHER.replace("slide", "third")
    said = refused(SUPPLY, DRIVER, carrying(AXIS, "slide"), carrying(OTHER, "third"), carrying(third, "vent"))
    assert "'vent' on 'third' on 'slide' on 'vent'" in said


def test_a_motor_sits_on_one_axis() -> None:
    one, other = AXIS + 'motor = "M-01"\n', OTHER + 'motor = "M-01"\n'
    assert "axis 'slide', motor: 'M-01' is on 'vent' already" in refused(SUPPLY, DRIVER, one, other)


def test_who_rides_rides_on_one() -> None:
    third = OTHER.replace("slide", "third")
    assert "rides on 'vent'" in refused(SUPPLY, DRIVER, carrying(AXIS, "slide"), OTHER, carrying(third, "slide"))
    assert "no axis 'tray'" in refused(SUPPLY, DRIVER, carrying(AXIS, "tray"))
    assert "each name once" in refused(SUPPLY, DRIVER, carrying(AXIS, "slide", "slide"), OTHER)


@pytest.mark.parametrize(
    "text", ["", "\x00", "name = 3", "axis = 3", "[[axis]]", '[[axis]]\nname = "\\u202e"', "a" * 999]
)
def test_what_is_no_machine_is_refused(text: str) -> None:
    refused(text)


ODD = ('"0 kg"', '"1e-9 m"', '"1e9 kg"', '"-1 N"', "0", "1e30", "-5", "true", '""', "[]", "{}", '"nan"', '"inf m/s"',
       "1979-05-27", '"M99"', '"1e4 rpm"', "999", '"0.1 %"', '"a\\u0000b"', '["x"]', "10000")  # fmt: skip


@pytest.mark.parametrize("seed", range(80))
def test_no_slip_of_the_hand_brings_it_down(seed: int) -> None:
    rng = random.Random(seed)
    lines = example_text().splitlines()
    for _ in range(rng.randint(1, 3)):
        place = rng.randrange(len(lines))
        match rng.randrange(4):
            case 0 if lines[place]:
                cut = rng.randrange(len(lines[place]))
                lines[place] = lines[place][:cut] + chr(rng.randrange(32, 127)) + lines[place][cut + 1 :]
            case 1:
                lines.insert(rng.randrange(len(lines)), lines[place])
            case _ if "=" in lines[place]:
                lines[place] = f"{lines[place].partition('=')[0]}= {rng.choice(ODD)}"
            case _:
                del lines[place]
    try:
        machine_in("\n".join(lines), "bench.toml")
    except InputProblem as problem:
        said = str(problem)
        assert said.startswith("bench.toml") and "expected" in said and "\n" not in said
