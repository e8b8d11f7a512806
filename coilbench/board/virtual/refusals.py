"""What the virtual board refuses, and with which word (sketches/PROTOCOL.md)."""

from __future__ import annotations

from coilbench.board.link.frames import Frame
from coilbench.board.link.messages import (
    COIL_LIMIT_MS,
    COIL_MOVE_MS,
    COIL_MOVE_ON_MS,
    FURTHEST_STEPS,
    LOW_SUPPLY_MV,
    MOST_REST_MS,
    MOST_STEPS,
    MOVING_VERBS,
    UNGREETED_VERBS,
    VERBS,
    Refusal,
    range_refusal,
    shape_refusal,
)
from coilbench.board.pins import ANALOGUE_CHANNELS
from coilbench.board.virtual.legs import legs_of
from coilbench.board.virtual.motion import BoardMotion

# The states in which a verb is let through; verbs not named are allowed in any.
_ALLOWED_STATES: dict[str, tuple[str, ...]] = {
    "pulse": ("idle",),
    "drive": ("idle",),
    "move": ("idle",),
    "trip": ("idle",),
    "pace": ("idle",),
    "coil": ("idle", "coil"),
    "read": ("idle", "coil"),
    "pair": ("idle",),
    "rise": ("idle",),
    "scale": ("idle",),
    "supply": ("idle", "coil"),
    "zero": ("idle",),
}


def refusal_of(frame: Frame, motion: BoardMotion, *, greeted: bool, highest_rate_sps: int) -> Refusal | None:
    """Why an ``ask`` frame is refused in this state of the board, or None when it is let through."""
    if frame.word not in VERBS:
        return "verb", {}
    if not greeted and frame.word not in UNGREETED_VERBS:
        return "greet", {}
    most_rest_ms = COIL_LIMIT_MS if motion.by == "coils" else MOST_REST_MS
    refused = shape_refusal(frame) or range_refusal(frame, highest_rate_sps, most_rest_ms)
    if refused is None and frame.word == "read" and frame.whole("channel") >= ANALOGUE_CHANNELS:
        refused = "range", {"at": "channel", "low": 0, "high": ANALOGUE_CHANNELS - 1}
    return refused or _state_refusal(frame, motion)


def _state_refusal(frame: Frame, motion: BoardMotion) -> Refusal | None:
    state, word = motion.state, frame.word
    allowed = _ALLOWED_STATES.get(word)
    if word == "outputs":
        allowed = ("idle",) if frame.fields["on"] else ("idle", "coil")
    if allowed is not None and state not in allowed:
        return "busy", {"state": state}
    if word in MOVING_VERBS and not motion.outputs_on:
        return "off", {}
    if word in ("pulse", "drive") and motion.outputs_on:
        return "on", {}
    if word == "outputs" and frame.fields["on"] and motion.by == "clips":
        return "by", {}
    if word in ("pair", "rise") and motion.by != "clips":
        return "by", {}
    if word == "read" and frame.fields.get("against") == "bandgap" and motion.outputs_on:
        return "on", {}
    if word == "coil" and motion.by != "coils":
        return "by", {}
    switches_on = (word == "outputs" and frame.fields["on"]) or (word == "coil" and frame.fields["pattern"])
    switches_on = switches_on or word in ("pair", "rise")
    if switches_on and motion.supply_mv < LOW_SUPPLY_MV:
        return "supply", {"mv": motion.supply_mv}
    wait_s = _wait_for_budget_s(frame, motion)
    if wait_s > 0:
        return "duty", {"wait": max(round(wait_s * 1000), 1)}
    return _distance_refusal(frame.whole("steps"), motion.position) if word in MOVING_VERBS else None


def _wait_for_budget_s(frame: Frame, motion: BoardMotion) -> float:
    if frame.word == "coil" and frame.fields["pattern"]:
        on_s = frame.whole("ms") / 1000
        return motion.wait_to_stand_s(on_s, on_s)
    if frame.word == "outputs" and frame.fields["on"]:
        return motion.wait_to_stand_s(motion.hold_s, motion.hold_s)
    if frame.word == "pace":
        return motion.wait_to_stand_s(COIL_MOVE_MS / 1000, COIL_MOVE_MS / 1000)
    if frame.word in MOVING_VERBS:
        rest_ms = frame.whole("rest") if frame.word == "trip" else 0
        takes_s = sum(leg.duration_s for leg in legs_of(frame))
        return motion.wait_to_stand_s((COIL_MOVE_MS + rest_ms) / 1000, min(takes_s, COIL_MOVE_ON_MS / 1000))
    return 0.0


def _distance_refusal(steps: int, position: int) -> Refusal | None:
    low = max(-FURTHEST_STEPS - position, -MOST_STEPS)
    high = min(FURTHEST_STEPS - position, MOST_STEPS)
    return None if low <= steps <= high else ("range", {"at": "steps", "low": low, "high": high})
