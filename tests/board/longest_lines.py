"""The longest line of each kind that a board can say: every field at its widest."""

from __future__ import annotations

from coilbench.board.link.frames import Frame, Value
from coilbench.board.link.messages import (
    BEAT_LIMIT_MS,
    COIL_LIMIT_MS,
    COIL_ON_BACK,
    COIL_ON_MS,
    COIL_STAND_MS,
    EASE_LIMIT_MS,
    FURTHEST_STEPS,
    HIGHEST_GAIN_SPS2,
    HIGHEST_RATE_SPS,
    MOST_BANDGAP_MV,
    MOST_REST_MS,
    MOST_STEPS,
)

_POS, _NUMBER, _MS = -FURTHEST_STEPS, 65535, 999_999_999
_SKETCH = 99_999  # version 9.99.99
_CHIP, _STATE = "atmega2560", "returning"
_NAME = "a" * 12
_PULSE: dict[str, Value] = {"high": 30_000, "low": 30_000, "setup": 50_000}

_ANSWERS: list[tuple[str, dict[str, Value]]] = [
    ("hello", {"protocol": 1, "sketch": _SKETCH, "chip": _CHIP, "can": "driver,coils,index,read,supply"}),
    ("report", {"protocol": 1, "sketch": _SKETCH, "state": _STATE, "pos": _POS, "next": _NUMBER}),
    ("pins", {"step": 69, "dir": 69, "enable": 69, "active": 1}),
    ("pins", {"a": 69, "b": 69, "c": 69, "d": 69, "active": 1}),
    ("pins", {"index": 69, "first": 69, "channels": 16}),
    ("pins", dict.fromkeys("abcdefgh", 69)),
    ("pins", dict.fromkeys("abcdef", 69)),
    (
        "limits",
        {"lowest": 10, "highest": HIGHEST_RATE_SPS, "gain": HIGHEST_GAIN_SPS2, "steps": MOST_STEPS},
    ),
    ("limits", {**_PULSE, "most": 30_000}),
    ("limits", {"beat": BEAT_LIMIT_MS, "ease": EASE_LIMIT_MS, "rest": MOST_REST_MS, "idle": 60_000, "line": 96}),
    (
        "limits",
        {"pattern": COIL_LIMIT_MS, "stand": COIL_STAND_MS, "on": COIL_ON_MS, "back": COIL_ON_BACK}
        | {"standleft": COIL_STAND_MS, "onleft": COIL_ON_MS},
    ),
    ("counts", dict.fromkeys(("good", "bad", "long", "order", "again", "lost"), _NUMBER)),
    ("beat", {"state": _STATE, "pos": _POS, "rate": HIGHEST_RATE_SPS, "out": 1}),
    ("pulse", {**_PULSE, "highest": HIGHEST_RATE_SPS}),
    ("drive", {"by": "driver", "form": "full"}),
    ("idle", {"ms": 60_000}),
    ("outputs", {"on": 1}),
    ("move", {"ms": _MS}),
    ("trip", {"ms": _MS}),
    ("pace", {"ms": _MS}),
    ("ease", {"pos": _POS}),
    ("stop", {"pos": _POS}),
    ("coil", {"pattern": 15, "ms": COIL_LIMIT_MS}),
    ("read", {"raw": 65_472, "mv": 65_535, "supply": 65_535}),
    ("pair", dict.fromkeys("abcdefgh", 65_472)),
    ("rise", {"raw": 16_368, "at": 65_535}),
    ("scale", {"bandgap": MOST_BANDGAP_MV, "kept": 1}),
    ("supply", {"mv": 65_535}),
    ("index", {"level": 1, "count": FURTHEST_STEPS, "fall": _POS, "rise": _POS}),
    ("zero", {"pos": 0}),
    ("reset", {}),
]
_REFUSALS: list[tuple[str, dict[str, Value]]] = [
    *((word, {}) for word in ("long", "check", "form", "reused", "verb", "greet", "cannot", "off", "on", "by")),
    ("stopped", {}),
    ("overflow", {}),
    ("order", {"next": _NUMBER}),
    ("field", {"at": _NAME}),
    ("range", {"at": "protocol", "low": -FURTHEST_STEPS, "high": FURTHEST_STEPS}),
    ("busy", {"state": _STATE}),
    ("supply", {"mv": 65_535}),
    ("duty", {"wait": COIL_ON_MS * COIL_ON_BACK}),
    ("volt", {"at": "h", "raw": 1023}),
    ("wire", {"at": "h", "raw": 1023}),
]
_EVENTS: list[tuple[str, dict[str, Value]]] = [
    ("hello", {"protocol": 1, "sketch": _SKETCH, "chip": _CHIP, "why": "brownout", "next": _NUMBER}),
    ("progress", {"pos": _POS, "left": 2 * MOST_STEPS, "rate": HIGHEST_RATE_SPS, "state": _STATE}),
    ("edge", {"level": 1, "pos": _POS, "count": FURTHEST_STEPS}),
    ("stop", {"why": "stopped", "pos": _POS, "left": 2 * MOST_STEPS}),
    ("off", {"why": "idle"}),
    ("fault", {"what": "watchdog"}),
    ("overflow", {}),
]

LONGEST = [
    *(Frame("yes", _NUMBER, word, fields) for word, fields in _ANSWERS),
    *(Frame("no", _NUMBER, word, fields) for word, fields in _REFUSALS),
    *(Frame("tell", _NUMBER, word, fields) for word, fields in _EVENTS),
]
