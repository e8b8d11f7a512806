"""What frames mean: the verbs, their fields and ranges (sketches/PROTOCOL.md sections 3 to 5)."""

from __future__ import annotations

from dataclasses import dataclass

from coilbench.board.link.frames import Frame, Value

PROTOCOL = 1
CAPABILITIES = ("driver", "coils", "index", "read", "supply")

LOWEST_RATE_SPS = 10
HIGHEST_RATE_SPS = 100_000
HIGHEST_COIL_RATE_SPS = 60_000
HIGHEST_GAIN_SPS2 = 9_999_999
MOST_STEPS = 9_999_999
FURTHEST_STEPS = 999_999_999
BEAT_LIMIT_MS = 500
EASE_LIMIT_MS = 100
LOW_SUPPLY_MV = 4500
COIL_LIMIT_MS = 2000
COIL_STAND_MS = 5000
COIL_ON_MS = 60_000
COIL_POWER_UP_MS = 20_000
COIL_ON_BACK = 3  # ms with the lines off for each of COIL_ON_MS given back
COIL_MOVE_MS = 1000
COIL_MOVE_ON_MS = 50_000
COIL_ROUND_STEPS = 8
COIL_STANDING_RATE_SPS = 10
MOST_PACED = 9999
SHORTEST_PACE_MS, LONGEST_PACE_MS = 100, 10_000
PACE_RATE_SPS = 1000  # of each of its steps
PACE_ON_MS = 500  # coil lines are on for a quarter of the pace, and no longer than this
MOST_REST_MS = 60_000
MOST_SAMPLES = 64
MOST_CLIPS = 8
SOONEST_RISE_CYCLES = 16
LATEST_RISE_CYCLES = 16_000
BANDGAP_MV, LEAST_BANDGAP_MV, MOST_BANDGAP_MV = 1100, 980, 1220  # nominal, and of any chip by any meter
DEFAULT_IDLE_MS = 10_000

OPPOSITE_COILS = (0b0101, 0b1010)
COIL_SEQUENCES: dict[str, tuple[int, ...]] = {
    "wave": (1, 2, 4, 8),
    "full": (3, 6, 12, 9),
    "half": (1, 3, 2, 6, 4, 12, 8, 9),
}


@dataclass(frozen=True)
class Whole:
    """An integer field and its range; ``optional`` fields may be left out."""

    name: str
    low: int
    high: int
    not_zero: bool = False
    optional: bool = False

    def refusal(self, value: Value) -> dict[str, Value] | None:
        """The fields of the ``range`` refusal, or None when ``value`` fits."""
        assert isinstance(value, int)
        if self.low <= value <= self.high and not (self.not_zero and value == 0):
            return None
        return {"at": self.name, "low": self.low, "high": self.high}

    def right_kind(self, value: Value) -> bool:
        return isinstance(value, int)


@dataclass(frozen=True)
class Choice:
    """A field that holds one of a few words."""

    name: str
    words: tuple[str, ...]
    optional: bool = False

    def refusal(self, value: Value) -> dict[str, Value] | None:
        """The fields of the ``range`` refusal, or None when ``value`` fits."""
        return None if value in self.words else {"at": self.name}

    def right_kind(self, value: Value) -> bool:
        return isinstance(value, str)


Rule = Whole | Choice

_RATE = (LOWEST_RATE_SPS, HIGHEST_RATE_SPS)
_MOVE: tuple[Rule, ...] = (
    Whole("steps", -MOST_STEPS, MOST_STEPS, not_zero=True),
    Whole("start", *_RATE),
    Whole("run", *_RATE),
    Whole("gain", 1, HIGHEST_GAIN_SPS2),
)

VERBS: dict[str, tuple[Rule, ...]] = {
    "hello": (Whole("protocol", 1, 9999),),
    "report": (),
    "pins": (Choice("of", ("driver", "coils", "sense", "clips")),),
    "limits": (Choice("of", ("rates", "pulse", "times", "coils")),),
    "counts": (),
    "beat": (),
    "pulse": (Whole("high", 2500, 30_000), Whole("low", 2500, 30_000), Whole("setup", 5000, 50_000)),
    "drive": (Choice("by", ("driver", "coils", "clips")), Choice("form", tuple(COIL_SEQUENCES), optional=True)),
    "idle": (Whole("ms", 100, 60_000),),
    "outputs": (Whole("on", 0, 1),),
    "move": _MOVE,
    "trip": (*_MOVE, Whole("rest", 0, MOST_REST_MS), Whole("back", *_RATE)),
    "pace": (
        Whole("steps", -MOST_PACED, MOST_PACED, not_zero=True),
        Whole("each", SHORTEST_PACE_MS, LONGEST_PACE_MS),
    ),
    "ease": (),
    "stop": (),
    "coil": (Whole("pattern", 0, 15), Whole("ms", 1, COIL_LIMIT_MS)),
    "read": (
        Whole("channel", 0, 15),
        Whole("samples", 1, MOST_SAMPLES, optional=True),
        Choice("against", ("supply", "bandgap"), optional=True),
    ),
    "pair": (Whole("high", 1, MOST_CLIPS), Whole("low", 1, MOST_CLIPS)),
    "rise": (
        *(Whole(name, 1, MOST_CLIPS) for name in ("high", "low", "see")),
        Whole("at", SOONEST_RISE_CYCLES, LATEST_RISE_CYCLES),
        Whole("hold", 1, MOST_CLIPS, optional=True),
    ),
    "scale": (Whole("bandgap", LEAST_BANDGAP_MV, MOST_BANDGAP_MV, optional=True),),
    "supply": (),
    "index": (),
    "zero": (),
    "reset": (),
}
MOVING_VERBS = ("move", "trip", "pace")
UNGREETED_VERBS = ("hello", "report", "counts", "stop")

Refusal = tuple[str, dict[str, Value]]


def sketch_version(sketch: int) -> str:
    """The sketch's version as people write it, from the number that a hello carries: 10203 is 1.2.3."""
    return f"{sketch // 10000}.{sketch // 100 % 100}.{sketch % 100}"


def shape_refusal(frame: Frame) -> Refusal | None:
    """The ``field`` refusal of an ``ask`` frame with a known verb, or None."""
    rules = {rule.name: rule for rule in VERBS[frame.word]}
    for name, value in frame.fields.items():
        if name not in rules or not rules[name].right_kind(value):
            return "field", {"at": name}
    for rule in VERBS[frame.word]:
        if rule.name not in frame.fields and not rule.optional:
            return "field", {"at": rule.name}
    return None


def range_refusal(
    frame: Frame, highest_rate_sps: int = HIGHEST_RATE_SPS, most_rest_ms: int = MOST_REST_MS
) -> Refusal | None:
    """The ``range`` refusal of a well-shaped ``ask`` frame, or None; pulse and drive set the two limits."""
    for rule in VERBS[frame.word]:
        if rule.name not in frame.fields:
            continue
        value = frame.fields[rule.name]
        if isinstance(rule, Whole) and rule.name in ("start", "run", "back"):
            rule = Whole(rule.name, LOWEST_RATE_SPS, highest_rate_sps)
        if rule.name == "rest":
            rule = Whole("rest", 0, most_rest_ms)
        refused = rule.refusal(value)
        if refused is None and frame.word == "coil" and rule.name == "pattern" and _opposite(value):
            refused = {"at": "pattern"}
        if refused is None and frame.word == "hello" and value != PROTOCOL:
            refused = {"at": "protocol", "low": PROTOCOL, "high": PROTOCOL}
        if refused is None and rule.name == "form" and frame.fields.get("by") != "coils":
            refused = {"at": "form"}
        if refused is not None:
            return "range", refused
    if frame.word in ("pair", "rise") and frame.fields["high"] == frame.fields["low"]:
        return "range", {"at": "low"}
    return None


def _opposite(pattern: Value) -> bool:
    return isinstance(pattern, int) and any(pattern & both == both for both in OPPOSITE_COILS)
