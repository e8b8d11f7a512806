"""What a jog starts from: the port, the drive, the shaft, and who watches it, as texts and read."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from coilbench.board.link.ports import PORT_EXAMPLE, with_options
from coilbench.board.session.drive import FORMS, KINDS, Drive
from coilbench.errors import InputProblem
from coilbench.motion.trials import Shaft
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import FoundWith, Jog, SearchBegun
from coilbench.records.saved.own import OwnWatch
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.fitness import check_usable
from coilbench.stages.form import Field, FieldProblem, Texts
from coilbench.stages.jog import found_with
from coilbench.stages.jog.driving import check_drivable, likely_kind
from coilbench.stages.jog.saved import drive_of, shaft_of
from coilbench.stages.motor import step_angle_degree
from coilbench.stages.virtual_port import is_can

# Where nothing is known: a hybrid of 1.8 degrees and a driver left in full steps (common practice), a middling ramp.
STEPS_PER_TURN = 200
CAN_STEPS_PER_TURN = 48  # a tin can of 7.5 degrees (common practice)
ACCELERATION_SPS2 = 5000.0

# What is typed; ``port`` is a text beside these, missing while none is chosen.
FIELDS: tuple[Field, ...] = (
    Field(
        "microsteps",
        "microsteps",
        help="How many STEP pulses make a full step, as the driver's pins or jumpers are set.",
    ),
    Field("turn", "steps/turn", help="Full steps in one turn of the rotor: 200 for 1.8 degrees a step, 48 for 7.5."),
    Field(
        "gear",
        "gear",
        help="Turns of the rotor for one turn of the output shaft: 1 without a gear, such as 64 with one.",
    ),
    Field(
        "acceleration",
        "accelerate",
        help="How fast to speed up, full steps/s each second. Heavier loads need less.",
    ),
    *(each for each in found_with.FIELDS if each.shown),
)


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing that can be chosen: ``offered`` are pairs of words and text."""

    id: str
    label: str
    offered: tuple[tuple[str, str], ...]


CHOICES: tuple[Choice, ...] = (
    Choice(
        "kind", "drive", (("step/dir driver", "driver"), ("coils: array", "array"), ("coils: H-bridge", "bridge"))
    ),
    Choice("form", "switched", (("full steps", "full"), ("half steps", "half"), ("wave drive", "wave"))),
    Choice("flag_on", "flag is on", (("output shaft", "output"), ("rotor's shaft", "rotor"))),
    Choice("on_shaft", "on shaft", found_with.ON_SHAFT),
    Choice("watch", "watched by", (("eye: a flag", "eye"), ("index sensor", "sensor"))),
)
# In the order in which they are asked.
ROWS = (
    "kind",
    "form",
    "microsteps",
    "turn",
    "gear",
    "flag_on",
    "acceleration",
    "watch",
    "on_shaft",
    "rotor",
    "inertia",
    "torque",
)


@dataclass(frozen=True)
class Setting:
    """The texts, read: the port, what drives the motor, its shaft, steps/s2; what figures are found with.

    ``size_swing_hz``: about where the bare rotor swings, by the motor's size alone; ``run_expected``: what its torque
    curve lets expect of a run, in words.
    """

    url: str
    drive: Drive
    shaft: Shaft
    acceleration_sps2: float
    found_with: FoundWith = field(default_factory=FoundWith)
    size_swing_hz: float | None = None
    run_expected: str = ""


def asked_rows(texts: Texts) -> list[str]:
    """The rows that matter for this drive and shaft."""
    idle = {"microsteps" if texts.get("kind") != "driver" else "form"}
    if texts.get("gear", "").strip() in ("", "1"):
        idle.add("flag_on")
    return [each for each in ROWS if each not in idle]


def first_texts(known: Facts, begun: Sequence[SearchBegun], own: OwnWatch | None = None) -> dict[str, str]:
    """What to start with: as at the last search, else what other stages know, else common practice.

    ``begun`` are the searches there were, in order; ``own`` is what usually watches a shaft at this bench.
    """
    drive, shaft, acceleration = Drive(likely_kind(known)), Shaft(), ACCELERATION_SPS2
    driver, jog = known.get(Driver), known.get(Jog)
    if begun:
        plan, drive = begun[-1].plan, drive_of(begun[-1].drive)
        shaft, acceleration = shaft_of(plan.shaft), plan.acceleration_sps2 or acceleration
    else:
        if driver is not None and not drive.by_coils:
            drive = Drive(drive.kind, driver.microsteps or 1)
        saved = next((each.shaft for each in (jog.drives if jog is not None else ()) if each.shaft is not None), None)
        sensor = own is not None and own.watch == "sensor"
        shaft = shaft_of(saved) if saved is not None else Shaft(_steps_per_turn(known), sensor=sensor)
    return {
        "kind": drive.kind,
        "form": drive.form,
        "microsteps": str(drive.microsteps),
        "turn": str(shaft.steps_per_turn),
        "gear": number_text(shaft.gear),
        "flag_on": shaft.flag_on,
        "acceleration": f"{acceleration:.0f}",
        "watch": "sensor" if shaft.sensor else "eye",
        **_load_texts(known, begun[-1].found_with if begun else None),
    }


def _load_texts(known: Facts, last: FoundWith | None) -> dict[str, str]:
    """What is on the shaft, as at the last search."""
    ratings, last = known.get(Ratings) or Ratings(), last or FoundWith()
    rotor = last.rotor_inertia_kilogram_metre2 or ratings.inertia_kilogram_metre2
    return {
        "on_shaft": last.on_shaft,
        "rotor": found_with.inertia_text(rotor),
        "inertia": found_with.inertia_text(last.load_inertia_kilogram_metre2),
        "torque": "" if last.load_newton_metre is None else f"{last.load_newton_metre:.4g} Nm",
    }


def _steps_per_turn(known: Facts) -> int:
    """By the step angle; else as usual for what it looks like."""
    if degree := step_angle_degree(known):
        return round(360 / degree)
    return CAN_STEPS_PER_TURN if is_can(known) else STEPS_PER_TURN


def read_setting(texts: Texts) -> Setting:
    """Read the texts. Raises FieldProblem, InputProblem for a flag on which no skip could be seen."""
    kind = _chosen(texts, "kind", KINDS)
    if kind == "driver":
        drive = Drive("driver", _whole(texts, "microsteps", 1, 256, "microsteps"))
    else:
        drive = Drive(kind, 1, _chosen(texts, "form", FORMS))  # type: ignore[arg-type]
    turn = _whole(texts, "turn", 4, 10_000, "full steps a turn")
    gear = gear_of(texts.get("gear", ""))
    flag_on = _chosen(texts, "flag_on", ("output", "rotor")) if gear != 1 else "output"
    shaft = Shaft(turn, gear, flag_on, texts.get("watch") == "sensor")  # type: ignore[arg-type]
    if shaft.blind_because:
        raise FieldProblem("flag_on", shaft.blind_because)
    acceleration = float(_whole(texts, "acceleration", 10, 1_000_000, "acceleration"))
    return Setting(_url(port_of(texts), drive, shaft), drive, shaft, acceleration)


def usable_setting(texts: Texts, known: Facts) -> Setting:
    """The texts, read. Raises Fault for a motor that must not be powered or can't be turned so, InputProblem."""
    check_usable(known)
    setting = read_setting(texts)
    check_drivable(setting.drive.kind, known)
    return replace(
        setting,
        found_with=found_with.read_found_with(texts, known, setting.drive),
        size_swing_hz=_size_swing_hz(known, setting.shaft),
    )


def _size_swing_hz(known: Facts, shaft: Shaft) -> float | None:
    """Where the rotor of a square hybrid of this frame and length swings, about; None for any other motor."""
    from coilbench.motion.rotor import rotor_guess
    from coilbench.rating.frames import parse_frame

    intake = known.get(Intake)
    if intake is None or not intake.frame or is_can(known):
        return None
    try:
        body = parse_frame(intake.frame)
    except InputProblem:
        return None
    if body.round_can:
        return None
    guess = rotor_guess(body.face_metre, intake.length_metre or body.length_metre)
    return guess.swing_hz(shaft.steps_per_turn / 4)


def port_of(texts: Texts) -> str:
    """The port that is chosen or typed. Raises InputProblem for none."""
    if "port" not in texts:
        raise InputProblem("choose the port your helper board is on")
    if not texts["port"].strip():
        raise FieldProblem("port", "no port is named", remedy=PORT_EXAMPLE)
    return texts["port"].strip()


def _url(url: str, drive: Drive, shaft: Shaft) -> str:
    """A virtual board is told how the driver is set and where the flag sits."""
    options = {} if drive.microsteps == 1 else {"microsteps": str(drive.microsteps)}
    if shaft.flag_on == "output" and shaft.gear != 1:
        options["gear"] = number_text(shaft.gear)
    return with_options(url, options)


def number_text(value: float) -> str:
    """A figure as short as it reads back the same."""
    short = f"{value:g}"
    return short if float(short) == value else repr(value)


def gear_of(text: str) -> float:
    """Rotor turns per turn of the output: ``64``, ``63.68`` or ``25792/405``. Raises FieldProblem."""
    above, _, below = text.strip().replace(",", ".").partition("/")
    try:
        gear = float(above) / float(below or "1")
    except (ValueError, ZeroDivisionError):
        gear = math.nan
    if not 1e-3 <= gear <= 1e5:
        raise FieldProblem(
            "gear", f"gear: {text.strip()[:20]!r}, expected rotor turns per turn of the output, such as 1 or 64"
        )
    return gear


def _chosen(texts: Texts, field: str, known: Sequence[str]) -> str:
    text = texts.get(field, "")
    if text not in known:
        raise FieldProblem(field, f"{field} {text!r}: expected {', '.join(known)}")
    return text


def _whole(texts: Texts, field: str, low: int, high: int, name: str) -> int:
    text = texts.get(field, "").strip()
    try:
        value = int(text)
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise FieldProblem(field, f"{name}: {text[:20]!r}, expected a whole number from {low} to {high}")
    return value
