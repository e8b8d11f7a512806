"""What the jog stage starts from: ports, settings and their defaults, what to wire where, the plan of a search."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from coilbench.errors import InputProblem
from coilbench.ui.leads import printable

if TYPE_CHECKING:
    from coilbench.board.jog_session import BoardFound
    from coilbench.motion.search import SearchPlan, SearchSummary

# Where nothing is known: a hybrid of 1.8 degrees and a driver left in full steps (common practice), a middling ramp.
STEPS_PER_TURN = 200
ACCELERATION_SPS2 = 5000.0
# Ranges searched, full steps/s and steps/s2: wider than salvaged motors on small drivers reach (common practice).
START_RANGE = (50.0, 4000.0)
RUN_HIGHEST_SPS = 10_000.0
ACCELERATION_RANGE = (500.0, 100_000.0)
CAREFUL_START_SPS = 100.0
BACK_SHARE = 0.6  # the way back goes at this share of what is known to start

KIND_TITLES = {
    "start": "fastest start",
    "run": "fastest run",
    "acceleration": "highest acceleration",
    "resonance": "low-speed resonance",
}
NO_FACT: Mapping[str, Any] = {
    "start_rate_sps": None,
    "run_rate_sps": None,
    "working_rate_sps": None,
    "acceleration_sps2": None,
    "interval": None,
    "resonance_sps": [],
    "resonance_bands_sps": [],
}


@dataclass(frozen=True)
class PortChoice:
    """A port to choose: its URL and what to call it."""

    url: str
    words: str


@dataclass(frozen=True)
class Setting:
    """What stands in the form, read: ``microsteps`` pulses a full step, full steps a turn, steps/s2."""

    url: str
    microsteps: int
    steps_per_turn: int
    acceleration_sps2: float
    sensor: bool


def real_ports() -> list[PortChoice]:
    """The serial ports there are, USB boards first, with what the system knows of them."""
    from serial.tools.list_ports import comports

    found = sorted(comports(), key=lambda port: (port.vid is None, port.device))
    return [PortChoice(port.device, port_words(port.device, port.description, port.vid)) for port in found]


def port_words(device: str, description: str | None, vendor: int | None) -> str:
    """A port in a few words."""
    name = device.rsplit("/", 1)[-1]
    if vendor is None:
        return f"{name}: built in, no USB board"
    known = description if description and description not in ("n/a", device, name) else "a USB board"
    return printable(f"{name}: {known}")


def virtual_port(facts: Mapping[str, Mapping[str, Any]], microsteps: int, options: str = "") -> PortChoice:
    """The demo's board, with a virtual motor about the size of this one."""
    intake = facts.get("intake") or {}
    frame = str(intake.get("frame") or "")
    name = "turntable" if frame in ("NEMA 23", "NEMA 34") else "tincan" if "mm" in frame else "bench"
    more = f"&{options}" if options else ""
    return PortChoice(f"virtual://{name}?microsteps={microsteps}{more}", "virtual board and motor")


def read_setting(url: str, texts: Mapping[str, str], sensor: bool) -> Setting:
    """Read the form. Raises InputProblem naming the field."""
    return Setting(
        url,
        whole("microsteps", texts["microsteps"], 1, 256),
        whole("full steps a turn", texts["turn"], 4, 10_000),
        float(whole("acceleration", texts["acceleration"], 10, 1_000_000)),
        sensor,
    )


def whole(name: str, text: str, low: int, high: int) -> int:
    """A whole number within a range. Raises InputProblem."""
    try:
        value = int(text.strip())
    except ValueError:
        value = low - 1
    if not low <= value <= high:
        raise InputProblem(f"{name}: {text.strip()[:20]!r}, expected a whole number from {low} to {high}")
    return value


def first_texts(facts: Mapping[str, Mapping[str, Any]], begun: Mapping[str, Any] | None) -> dict[str, str]:
    """What the fields start with: the search under way, else other stages, else common practice."""
    driver, ratings, intake = (facts.get(stage) or {} for stage in ("driver", "ratings", "intake"))
    degree = ratings.get("step_angle_degree") or intake.get("step_angle_degree")
    turn = round(360 / degree) if degree else STEPS_PER_TURN
    microsteps, acceleration = driver.get("microsteps") or 1, ACCELERATION_SPS2
    if begun is not None:
        plan = begun["plan"]
        microsteps, turn = begun["microsteps"], plan["shaft"]["steps_per_turn"]
        acceleration = plan.get("acceleration_sps2", ACCELERATION_SPS2)
    return {"microsteps": str(microsteps), "turn": str(turn), "acceleration": f"{acceleration:.0f}"}


def make_plan(kind: str, setting: Setting, highest_sps: float, known: Mapping[str, Any] | None) -> SearchPlan:
    """The plan of a search, from what earlier ones found. Raises InputProblem when the board is too slow for one."""
    from coilbench.motion.search import SearchPlan
    from coilbench.motion.trials import Shaft

    shaft = Shaft(setting.steps_per_turn, sensor=setting.sensor)
    start = float((known or {}).get("start_rate_sps") or CAREFUL_START_SPS)
    back = max(CAREFUL_START_SPS, BACK_SHARE * start) if kind != "start" else CAREFUL_START_SPS
    gain = setting.acceleration_sps2
    avoid = tuple((float(low), float(high)) for low, high in (known or {}).get("resonance_bands_sps") or ())
    if kind == "start":
        low, high = START_RANGE
        high = min(high, highest_sps)
        return SearchPlan("start", low, high, shaft, acceleration_sps2=gain, back_rate_sps=back, avoid=avoid)
    if kind == "run":
        low, high = max(start, 1.0), min(RUN_HIGHEST_SPS, highest_sps)
        return SearchPlan("run", low, high, shaft, start, acceleration_sps2=gain, back_rate_sps=back, avoid=avoid)
    run = float((known or {}).get("run_rate_sps") or 2 * start)
    low, high = ACCELERATION_RANGE
    return SearchPlan("acceleration", low, high, shaft, start, run, back_rate_sps=back)


def new_fact(
    found: SearchSummary, plan: SearchPlan, before: Mapping[str, Any] | None, microsteps: int
) -> dict[str, Any]:
    """The motor's saved result with a search's finding put in; full steps/s and steps/s2."""
    fact: dict[str, Any] = {**NO_FACT, **(before or {})}
    fact["microsteps"], fact["proved_chance"] = microsteps, found.proved_chance
    if found.question == "start":
        fact["start_rate_sps"] = found.working_sps
    elif found.question == "run":
        fact["run_rate_sps"], fact["acceleration_sps2"] = found.working_sps, plan.acceleration_sps2
    else:
        fact["acceleration_sps2"] = found.working_sps
    if found.question == "run" or (found.question == "start" and not fact["run_rate_sps"]):
        fact["working_rate_sps"], fact["interval"] = found.working_sps, list(found.interval_sps)
    return fact


def wiring_lines(board: BoardFound, wires: list[str], *, ascii: bool = False) -> list[str]:
    """What to wire where, with the board's own pins; narrow enough for a side column."""
    driver, sense = board.pins["driver"], board.pins["sense"]
    on = "low" if driver["active"] == 0 else "high"
    pull = "pull-up to 5 V" if driver["active"] == 0 else "pull-down"
    lines = [
        "board          driver",
        f"pin {driver['step']!s:<3} ─────▸ STEP",
        f"pin {driver['dir']!s:<3} ─────▸ DIR",
        f"pin {driver['enable']!s:<3} ─────▸ ENABLE, {on} = on,",
        f"               10 k {pull}",
        "ground  ────── ground",
        f"pin {sense['index']!s:<3} ◂───── index sensor, if any",
        "               driver",
        *(wires or ["motor   ────── coil A, coil B"]),
        "supply + ─fuse─▸ VM, with its",
        "               capacitor close by",
    ]
    return [line.translate(_PLAIN) for line in lines] if ascii else lines


_PLAIN = str.maketrans({"─": "-", "▸": ">", "◂": "<"})


def moves_to_go(found: SearchSummary, plan: SearchPlan) -> int:
    """About how many moves are left; halving the interval takes two, near enough."""
    import math

    low, high = found.interval_sps
    ratio = math.log(high / low) / math.log1p(plan.width)
    wanted = math.ceil(2 * math.log2(max(ratio, 1.01)))
    return max(1, min(wanted, plan.most_moves - found.moves))
