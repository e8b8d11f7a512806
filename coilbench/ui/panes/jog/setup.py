"""What the jog stage starts from: ports, settings and their defaults, the plan of a search."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilbench.errors import InputProblem
from coilbench.stages.leads import printable

if TYPE_CHECKING:
    from coilbench.board.session.drive import Drive
    from coilbench.motion.search import SearchPlan
    from coilbench.motion.search_plan import Searched
    from coilbench.motion.trials import Shaft

# Where nothing is known: a hybrid of 1.8 degrees and a driver left in full steps (common practice), a middling ramp.
STEPS_PER_TURN = 200
CAN_STEPS_PER_TURN = 48  # a tin can of 7.5 degrees (common practice)
ACCELERATION_SPS2 = 5000.0

KIND_TITLES = {
    "start": "fastest start",
    "run": "fastest run",
    "acceleration": "highest acceleration",
    "resonance": "low-speed resonance",
}


@dataclass(frozen=True)
class PortChoice:
    """A port to choose: its URL and what to call it; ``usb`` for a board on USB."""

    url: str
    words: str
    usb: bool = False


@dataclass(frozen=True)
class Setting:
    """What stands in the form, read: the port, what drives the motor, its shaft, steps/s2."""

    url: str
    drive: Drive
    shaft: Shaft
    acceleration_sps2: float


@dataclass(frozen=True)
class Form:
    """What stands in the form as it was typed and chosen."""

    kind: str = "driver"
    form: str = "full"
    microsteps: str = "1"
    turn: str = str(STEPS_PER_TURN)
    gear: str = "1"
    flag_on: str = "output"
    acceleration: str = f"{ACCELERATION_SPS2:.0f}"
    watch: str = "eye"


def real_ports() -> list[PortChoice]:
    """The serial ports there are, USB boards first, with what the system knows of them."""
    from serial.tools.list_ports import comports

    found = sorted(comports(), key=lambda port: (port.vid is None, port.device))
    return [
        PortChoice(port.device, port_words(port.device, port.description, port.vid), port.vid is not None)
        for port in found
    ]


PORT_TYPED = (
    "A port that isn't listed: its name, such as /dev/pts/3 or COM12, or its address on the network, such as "
    "socket://bench.local:4000 or rfc2217://bench.local:4000."
)


def typed_port(text: str) -> str:
    """A port as it was typed. Raises InputProblem for none."""
    if not text.strip():
        raise InputProblem("type the port's name, such as /dev/pts/3 or socket://HOST:NUMBER")
    return text.strip()


def port_words(device: str, description: str | None, vendor: int | None) -> str:
    """A port in a few words."""
    name = device.rsplit("/", 1)[-1]
    if vendor is None:
        return f"{name}: built in, no USB board"
    known = description if description and description not in ("n/a", device, name) else "a USB board"
    return printable(f"{name}: {known}")


def virtual_port(
    facts: Mapping[str, Mapping[str, Any]], drive: Drive | None = None, shaft: Shaft | None = None, options: str = ""
) -> PortChoice:
    """The demo's board, with a virtual motor about the size of this one, driven and geared as the form says."""
    from coilbench.board.virtual.crate import port_name

    name = port_name((facts.get("intake") or {}).get("frame"))
    more = [options] if options else []
    if drive is not None and drive.microsteps != 1:
        more.append(f"microsteps={drive.microsteps}")
    if shaft is not None and shaft.flag_on == "output" and shaft.gear != 1:
        more.append(f"gear={shaft.gear:g}")
    return PortChoice(f"virtual://{name}?{'&'.join(more)}", "virtual board and motor")


def _is_can(frame: str) -> bool:
    return frame.endswith("mm can")


def read_setting(url: str, form: Form) -> Setting:
    """Read the form. Raises InputProblem naming the field, or for a flag on which no skip could be seen."""
    from coilbench.board.session.drive import Drive
    from coilbench.motion.trials import Shaft

    by_driver = form.kind == "driver"
    microsteps = whole("microsteps", form.microsteps, 1, 256) if by_driver else 1
    drive = Drive(form.kind, microsteps, form.form)  # type: ignore[arg-type]
    turn = whole("full steps a turn", form.turn, 4, 10_000)
    gear = gear_of(form.gear)
    shaft = Shaft(turn, gear, form.flag_on if gear != 1 else "output", form.watch == "sensor")  # type: ignore[arg-type]
    if shaft.blind_because:
        raise InputProblem(shaft.blind_because)
    return Setting(url, drive, shaft, float(whole("acceleration", form.acceleration, 10, 1_000_000)))


def gear_of(text: str) -> float:
    """Rotor turns per turn of the output: ``64``, ``63.68`` or ``25792/405``. Raises InputProblem."""
    above, _, below = text.strip().replace(",", ".").partition("/")
    try:
        gear = float(above) / float(below or "1")
    except (ValueError, ZeroDivisionError):
        gear = math.nan
    if not 1e-3 <= gear <= 1e5:
        raise InputProblem(
            f"gear: {text.strip()[:20]!r}, expected rotor turns per turn of the output, such as 1 or 64"
        )
    return gear


def whole(name: str, text: str, low: int, high: int) -> int:
    """A whole number within a range. Raises InputProblem."""
    try:
        value = int(text.strip())
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise InputProblem(f"{name}: {text.strip()[:20]!r}, expected a whole number from {low} to {high}")
    return value


def first_form(facts: Mapping[str, Mapping[str, Any]], begun: Mapping[str, Any] | None) -> Form:
    """What the form starts with: the search under way, else what was saved, else common practice."""
    from coilbench.board.session.drive import likely_kind
    from coilbench.board.session.figures import drive_of

    driver, ratings, intake, saved = (facts.get(stage) or {} for stage in ("driver", "ratings", "intake", "jog"))
    degree = ratings.get("step_angle_degree") or intake.get("step_angle_degree")
    usual = CAN_STEPS_PER_TURN if _is_can(str(intake.get("frame") or "")) else STEPS_PER_TURN
    shaft = {"steps_per_turn": round(360 / degree) if degree else usual, **(saved.get("shaft") or {})}
    drive: dict[str, Any] = {"kind": likely_kind(facts)}
    microsteps, acceleration = driver.get("microsteps") or 1, ACCELERATION_SPS2
    if begun is not None:
        plan = begun["plan"]
        shaft |= plan["shaft"]
        last = drive_of(begun)
        drive, microsteps = last.as_dict(), last.microsteps
        acceleration = plan.get("acceleration_sps2", ACCELERATION_SPS2)
    return Form(
        kind=drive["kind"],
        form=drive.get("form", "full"),
        microsteps=str(microsteps),
        turn=str(shaft["steps_per_turn"]),
        gear=f"{shaft.get('gear', 1):.6g}",
        flag_on=shaft.get("flag_on", "output"),
        acceleration=f"{acceleration:.0f}",
        watch="sensor" if shaft.get("sensor") else "eye",
    )


def make_plan(
    kind: Searched,
    setting: Setting,
    highest_sps: float,
    known: Mapping[str, Any] | None,
    ratings: Mapping[str, Any] | None = None,
) -> SearchPlan:
    """The plan of a search, from what earlier ones found on this drive.

    Raises InputProblem when the board is too slow for one, NotEnoughKnown when another search must come first.
    """
    from coilbench.motion.search_order import Known, plan_search

    before = known or {}
    bands = tuple((float(low), float(high)) for low, high in before.get("resonance_bands_sps") or ())
    return plan_search(
        kind,
        setting.shaft,
        Known(before.get("start_rate_sps"), before.get("run_rate_sps"), bands, swing_of(setting, ratings)),
        acceleration_sps2=setting.acceleration_sps2,
        highest_sps=highest_sps,
    )


def swing_of(setting: Setting, ratings: Mapping[str, Any] | None) -> float | None:
    """The rotor's small-swing frequency by the motor's ratings, hertz; None when they don't tell."""
    from coilbench.motion.resonance import swing_from_facts

    torque, inertia = (
        (ratings or {}).get(name) for name in ("holding_torque_newton_metre", "inertia_kilogram_metre2")
    )
    return swing_from_facts(torque, inertia, setting.shaft.steps_per_turn)
