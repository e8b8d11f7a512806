"""A helper board that is not there: speaks sketches/PROTOCOL.md exactly and turns a virtual motor."""

from __future__ import annotations

import random
from collections.abc import Callable

from coilbench.board.link.frames import Bare, Broken, Decoder, Frame, Item, Value, encode
from coilbench.board.link.messages import (
    BEAT_LIMIT_MS,
    CAPABILITIES,
    COIL_BUDGET_MS,
    COIL_LIMIT_MS,
    COIL_MOVE_MS,
    EASE_LIMIT_MS,
    FURTHEST_STEPS,
    HIGHEST_COIL_RATE_SPS,
    HIGHEST_GAIN_SPS2,
    HIGHEST_RATE_SPS,
    LOWEST_RATE_SPS,
    MOST_REST_MS,
    MOST_STEPS,
    PROTOCOL,
    UNGREETED_VERBS,
    VERBS,
    Refusal,
    range_refusal,
    shape_refusal,
)
from coilbench.board.link.wire import Wire
from coilbench.board.virtual.motion import BoardMotion, move_leg, trip_legs
from coilbench.board.virtual.running_motor import RunningMotor

_SKETCH_VERSION = 10000
_SUPPLY_MV = 4980
_ANALOGUE_CHANNELS = 6
_PINS: dict[Value, dict[str, Value]] = {
    "driver": {"step": 9, "dir": 8, "enable": 7, "active": 0},
    "coils": {"a": 3, "b": 4, "c": 5, "d": 6},
    "sense": {"index": 2, "first": 14, "channels": _ANALOGUE_CHANNELS},
}
_STOP_AT = 65535

# The states in which a verb is let through; verbs not named are allowed in any.
_ALLOWED_STATES: dict[str, tuple[str, ...]] = {
    "pulse": ("idle",),
    "drive": ("idle",),
    "move": ("idle",),
    "trip": ("idle",),
    "coil": ("idle", "coil"),
    "read": ("idle", "coil"),
    "supply": ("idle", "coil"),
    "zero": ("idle",),
}

Answer = dict[str, Value]


class VirtualBoard:
    """``receive`` sends it bytes, ``run`` carries its time on, ``take`` has what came through to the host."""

    def __init__(self, motor: RunningMotor, *, seed: int = 1) -> None:
        self._rng = random.Random(seed)
        self._from_host, self._to_host = Wire(), Wire()
        self.motion = BoardMotion(motor)
        self._restart("power")

    def receive(self, data: bytes) -> None:
        """Bytes from the host, on the line from the board's present time on."""
        self._from_host.put(data, self.motion.now_s)

    def run(self, until_s: float) -> None:
        """Carry time on to ``until_s`` seconds since the board was made."""
        while (line_s := self._from_host.next_line_s) <= until_s:
            self._carry_on(line_s)
        self._carry_on(until_s)

    def _carry_on(self, until_s: float) -> None:
        for word, fields in self.motion.run(until_s):
            self._tell(word, fields)
        for item in self._decoder.feed(self._from_host.take(max(until_s, self.motion.now_s))):
            self._take_item(item)

    def drain(self) -> None:
        """Carry time on until the board has heard everything that was sent to it."""
        self.run(max(self._from_host.empty_s, self.motion.now_s))

    def take(self) -> bytes:
        """The bytes that have come through to the host since the last call."""
        return self._to_host.take(self.motion.now_s)

    def restart(self, why: str) -> None:
        """A reset, as by the button (``pin``), the supply (``power``) or the watchdog."""
        for word, fields in self.motion.cut("reset"):
            self._tell(word, fields)
        self._restart(why)

    def _restart(self, why: str) -> None:
        self.motion = self.motion.successor()
        self._decoder = Decoder()
        self._greeted = False
        self._next = self._rng.randint(1, 65535)
        self._kept: tuple[Frame, bytes] | None = None
        self._told = 0
        self._pulse: Answer = {"high": 2500, "low": 2500, "setup": 5000}
        self._counts = dict.fromkeys(("good", "bad", "long", "order", "again", "lost"), 0)
        self._tell(
            "hello",
            {
                "protocol": PROTOCOL,
                "sketch": _SKETCH_VERSION,
                "chip": "virtual",
                "why": why,
                "next": self._next,
            },
        )

    # Numbers and refusals

    def _take_item(self, item: Item) -> None:
        if isinstance(item, Bare):
            fields = self._stop() if item.word == "stop" else self._report()
            self._send(Frame("yes", 0, item.word, fields))
        elif isinstance(item, Broken):
            self._count("long" if item.flaw == "long" else "bad")
            self._send(Frame("no", 0, item.flaw))
        elif item.kind != "ask":
            self._count("bad")
            self._send(Frame("no", 0, "form"))
        else:
            self._take_numbered(item)

    def _take_numbered(self, frame: Frame) -> None:
        self.motion.sign_of_life()
        if frame.number == self._next:
            self._next = self._next % 65535 + 1
            self._count("good")
            answer = self._answer(frame)
            line = encode(answer)
            self._kept = (frame, line)
            self._put(line)
            if answer.kind == "yes" and frame.word == "reset":
                self.restart("asked")
        elif self._kept is not None and frame.number == self._kept[0].number:
            if _same(frame, self._kept[0]):
                self._count("again")
                self._put(self._kept[1])
            else:
                self._count("order")
                self._send(Frame("no", frame.number, "reused"))
        else:
            self._count("order")
            self._send(Frame("no", frame.number, "order", {"next": self._next}))

    def _answer(self, frame: Frame) -> Frame:
        refused = self._refusal(frame)
        if refused is not None:
            return Frame("no", frame.number, *refused)
        fields = self._verb(frame.word)(frame)
        return Frame("yes", frame.number, frame.word, fields)

    def _refusal(self, frame: Frame) -> Refusal | None:
        if frame.word not in VERBS:
            return "verb", {}
        if not self._greeted and frame.word not in UNGREETED_VERBS:
            return "greet", {}
        most_rest_ms = COIL_LIMIT_MS if self.motion.by == "coils" else MOST_REST_MS
        refused = shape_refusal(frame) or range_refusal(frame, self._highest_rate_sps(), most_rest_ms)
        if refused is None and frame.word == "read" and frame.whole("channel") >= _ANALOGUE_CHANNELS:
            refused = "range", {"at": "channel", "low": 0, "high": _ANALOGUE_CHANNELS - 1}
        return refused or self._state_refusal(frame)

    def _state_refusal(self, frame: Frame) -> Refusal | None:
        state, word = self.motion.state, frame.word
        allowed = _ALLOWED_STATES.get(word)
        if word == "outputs":
            allowed = ("idle",) if frame.fields["on"] else ("idle", "coil")
        if allowed is not None and state not in allowed:
            return "busy", {"state": state}
        if word in ("move", "trip") and not self.motion.outputs_on:
            return "off", {}
        if word in ("pulse", "drive") and self.motion.outputs_on:
            return "on", {}
        if word == "coil" and self.motion.by != "coils":
            return "by", {}
        wait_s = self._wait_for_budget_s(frame)
        if wait_s > 0:
            return "duty", {"wait": max(round(wait_s * 1000), 1)}
        return self._distance_refusal(frame.whole("steps")) if word in ("move", "trip") else None

    def _wait_for_budget_s(self, frame: Frame) -> float:
        if frame.word == "coil" and frame.fields["pattern"]:
            return self.motion.wait_to_stand_s(frame.whole("ms") / 1000)
        if frame.word == "outputs" and frame.fields["on"]:
            return self.motion.wait_to_stand_s(self.motion.hold_s)
        if frame.word in ("move", "trip"):
            rest_ms = frame.whole("rest") if frame.word == "trip" else 0
            return self.motion.wait_to_stand_s((COIL_MOVE_MS + rest_ms) / 1000)
        return 0.0

    def _distance_refusal(self, steps: int) -> Refusal | None:
        low = max(-FURTHEST_STEPS - self.motion.position, -MOST_STEPS)
        high = min(FURTHEST_STEPS - self.motion.position, MOST_STEPS)
        return None if low <= steps <= high else ("range", {"at": "steps", "low": low, "high": high})

    # Verbs: each is given a frame that is allowed and answers its fields

    def _verb(self, word: str) -> Callable[[Frame], Answer]:
        verbs: dict[str, Callable[[Frame], Answer]] = {
            "hello": self._hello,
            "report": lambda _: self._report(),
            "pins": lambda frame: _PINS[frame.fields["of"]],
            "limits": self._limits,
            "counts": lambda _: dict(self._counts),
            "beat": lambda _: {
                "state": self.motion.state,
                "pos": self.motion.position,
                "rate": self.motion.rate_sps,
                "out": int(self.motion.outputs_on),
            },
            "pulse": self._set_pulse,
            "drive": self._drive,
            "idle": self._set_idle,
            "outputs": self._outputs,
            "move": self._move,
            "trip": self._trip,
            "ease": self._ease,
            "stop": lambda _: self._stop(),
            "coil": self._coil,
            "read": self._read,
            "supply": lambda _: {"mv": _SUPPLY_MV + self._rng.randint(-10, 10)},
            "index": self._index,
            "zero": self._zero,
            "reset": lambda _: {},
        }
        return verbs[word]

    def _hello(self, frame: Frame) -> Answer:
        self._greeted = True
        return {
            "protocol": PROTOCOL,
            "sketch": _SKETCH_VERSION,
            "chip": "virtual",
            "can": ",".join(CAPABILITIES),
        }

    def _report(self) -> Answer:
        return {
            "protocol": PROTOCOL,
            "sketch": _SKETCH_VERSION,
            "chip": "virtual",
            "state": self.motion.state,
            "pos": self.motion.position,
            "next": self._next,
        }

    def _limits(self, frame: Frame) -> Answer:
        if frame.fields["of"] == "rates":
            return {
                "lowest": LOWEST_RATE_SPS,
                "highest": self._highest_rate_sps(),
                "gain": HIGHEST_GAIN_SPS2,
                "steps": MOST_STEPS,
            }
        if frame.fields["of"] == "pulse":
            return {**self._pulse, "most": 30_000}
        return {
            "beat": BEAT_LIMIT_MS,
            "ease": EASE_LIMIT_MS,
            "coil": COIL_LIMIT_MS,
            "budget": COIL_BUDGET_MS,
            "rest": MOST_REST_MS,
            "idle": round(self.motion.idle_s * 1000),
            "line": 96,
        }

    def _highest_rate_sps(self) -> int:
        period_ns = sum(value for name, value in self._pulse.items() if name != "setup" and isinstance(value, int))
        highest = HIGHEST_COIL_RATE_SPS if self.motion.by == "coils" else HIGHEST_RATE_SPS
        return min(highest, 1_000_000_000 // period_ns)

    def _set_pulse(self, frame: Frame) -> Answer:
        self._pulse = {name: frame.fields[name] for name in ("high", "low", "setup")}
        return {**self._pulse, "highest": self._highest_rate_sps()}

    def _drive(self, frame: Frame) -> Answer:
        self.motion.by = str(frame.fields["by"])
        self.motion.form = str(frame.fields.get("form", "full"))
        return {"by": self.motion.by, "form": self.motion.form}

    def _set_idle(self, frame: Frame) -> Answer:
        self.motion.idle_s = frame.whole("ms") / 1000
        return {"ms": frame.fields["ms"]}

    def _outputs(self, frame: Frame) -> Answer:
        self.motion.switch(bool(frame.fields["on"]))
        return {"on": frame.fields["on"]}

    def _move(self, frame: Frame) -> Answer:
        leg = move_leg("moving", *(frame.whole(name) for name in ("steps", "start", "run", "gain")))
        return {"ms": round(self.motion.begin([leg]) * 1000)}

    def _trip(self, frame: Frame) -> Answer:
        steps, start, run, gain = (frame.whole(name) for name in ("steps", "start", "run", "gain"))
        legs = trip_legs(steps, start, run, gain, frame.whole("rest") / 1000, frame.whole("back"))
        return {"ms": round(self.motion.begin(legs) * 1000)}

    def _ease(self, frame: Frame) -> Answer:
        self.motion.ease()
        return {"pos": self.motion.position}

    def _stop(self) -> Answer:
        for word, fields in self.motion.cut("stopped"):
            self._tell(word, fields)
        return {"pos": self.motion.position}

    def _coil(self, frame: Frame) -> Answer:
        self.motion.coil(frame.whole("pattern"), frame.whole("ms") / 1000)
        return {"pattern": frame.fields["pattern"], "ms": frame.fields["ms"]}

    def _read(self, frame: Frame) -> Answer:
        raw = min(max(100 * frame.whole("channel") + self._rng.randint(-1, 1), 0), 1023)
        return {"raw": raw, "mv": raw * _SUPPLY_MV // 1023}

    def _index(self, frame: Frame) -> Answer:
        seen = self.motion.index
        return {"level": self.motion.motor.level, "count": seen.count, "fall": seen.fall, "rise": seen.rise}

    def _zero(self, frame: Frame) -> Answer:
        self.motion.zero()
        return {"pos": 0}

    # The line to the host

    def _tell(self, word: str, fields: Answer) -> None:
        self._told = self._told % 65535 + 1
        self._send(Frame("tell", self._told, word, fields))

    def _send(self, frame: Frame) -> None:
        self._put(encode(frame))

    def _put(self, line: bytes) -> None:
        self._to_host.put(line + b"\n", self.motion.now_s)

    def _count(self, name: str) -> None:
        self._counts[name] = min(self._counts[name] + 1, _STOP_AT)


def _same(frame: Frame, kept: Frame) -> bool:
    """Same check, that is same text: the fields' order counts."""
    return frame == kept and list(frame.fields) == list(kept.fields)
