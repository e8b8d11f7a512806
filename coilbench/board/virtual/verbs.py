"""What the virtual board does at each verb, and what it answers."""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping

from coilbench.board.link.frames import Frame, Value
from coilbench.board.link.messages import (
    BEAT_LIMIT_MS,
    CAPABILITIES,
    COIL_LIMIT_MS,
    COIL_ON_BACK,
    COIL_ON_MS,
    COIL_STAND_MS,
    EASE_LIMIT_MS,
    HIGHEST_COIL_RATE_SPS,
    HIGHEST_GAIN_SPS2,
    HIGHEST_RATE_SPS,
    LOWEST_RATE_SPS,
    MOST_REST_MS,
    MOST_STEPS,
    PROTOCOL,
)
from coilbench.board.pins import PINS
from coilbench.board.virtual.converter import Converter
from coilbench.board.virtual.jig import Refused, VirtualJig
from coilbench.board.virtual.legs import legs_of
from coilbench.board.virtual.motion import BoardMotion

CHIP = "virtual"
SKETCH_VERSION = 10300
CYCLES_A_SECOND = 16_000_000

Answer = dict[str, Value]


class Late(Exception):
    """Refused while it was done: the word and its fields."""

    def __init__(self, word: str, fields: Answer) -> None:
        super().__init__(word)
        self.word = word
        self.fields = fields


def _found_on_clips(refused: Refused) -> Late:
    word, clip, raw = refused
    return Late(word, {"at": list(PINS["clips"])[clip], "raw": raw})


class Verbs:
    """The verbs of a board since its last restart. Each is given a frame that no rule refuses.

    ``tell`` sends an event to the host, ``next_number`` is the frame number expected next, ``counts`` what came,
    ``input_mv`` what lies at the analogue inputs, 0 where nothing does, ``converter`` reads them, ``jig`` has the
    leads on clips.
    """

    def __init__(
        self,
        motion: BoardMotion,
        rng: random.Random,
        counts: dict[str, int],
        next_number: Callable[[], int],
        tell: Callable[[str, Answer], None],
        input_mv: Mapping[int, float],
        converter: Converter,
        jig: VirtualJig,
    ) -> None:
        self.greeted = False
        self._motion = motion
        self._rng = rng
        self._counts = counts
        self._next_number = next_number
        self._tell = tell
        self._pulse: Answer = {"high": 2500, "low": 2500, "setup": 5000}
        self._input_mv = input_mv
        self._converter = converter
        self._jig = jig

    def answer(self, frame: Frame) -> Answer:
        """Do what is asked and return the answer's fields."""
        return self._by_word()[frame.word](frame)

    def _by_word(self) -> dict[str, Callable[[Frame], Answer]]:
        return {
            "hello": self._hello,
            "report": lambda _: self.report(),
            "pins": lambda frame: dict(PINS[str(frame.fields["of"])]),
            "limits": self._limits,
            "counts": lambda _: dict(self._counts),
            "beat": lambda _: {
                "state": self._motion.state,
                "pos": self._motion.position,
                "rate": self._motion.rate_sps,
                "out": int(self._motion.outputs_on),
            },
            "pulse": self._set_pulse,
            "drive": self._drive,
            "idle": self._set_idle,
            "outputs": self._outputs,
            "move": self._move,
            "trip": self._move,
            "pace": self._move,
            "ease": self._ease,
            "stop": lambda _: self.stop(),
            "coil": self._coil,
            "read": self._read,
            "pair": self._pair,
            "rise": self._rise,
            "scale": self._scale,
            "supply": lambda _: {"mv": self._converter.told_supply_mv(self._motion.supply_mv, self._rng)},
            "index": self._index,
            "zero": self._zero,
            "reset": lambda _: {},
        }

    def _hello(self, frame: Frame) -> Answer:
        self.greeted = True
        return {
            "protocol": PROTOCOL,
            "sketch": SKETCH_VERSION,
            "chip": CHIP,
            "can": ",".join(CAPABILITIES),
        }

    def report(self) -> Answer:
        """Who is there, what it does, and the number it expects next."""
        return {
            "protocol": PROTOCOL,
            "sketch": SKETCH_VERSION,
            "state": self._motion.state,
            "pos": self._motion.position,
            "next": self._next_number(),
        }

    def _limits(self, frame: Frame) -> Answer:
        if frame.fields["of"] == "rates":
            return {
                "lowest": LOWEST_RATE_SPS,
                "highest": self.highest_rate_sps,
                "gain": HIGHEST_GAIN_SPS2,
                "steps": MOST_STEPS,
            }
        if frame.fields["of"] == "pulse":
            return {**self._pulse, "most": 30_000}
        if frame.fields["of"] == "coils":
            left = self._motion.coil_budget
            return {
                "pattern": COIL_LIMIT_MS,
                "stand": COIL_STAND_MS,
                "on": COIL_ON_MS,
                "back": COIL_ON_BACK,
                "standleft": int(left.stand_left_s * 1000),
                "onleft": int(left.on_left_s * 1000),
            }
        return {
            "beat": BEAT_LIMIT_MS,
            "ease": EASE_LIMIT_MS,
            "rest": MOST_REST_MS,
            "idle": round(self._motion.idle_s * 1000),
            "line": 96,
        }

    @property
    def highest_rate_sps(self) -> int:
        """The fastest rate that pulse and drive allow, steps/s."""
        period_ns = sum(value for name, value in self._pulse.items() if name != "setup" and isinstance(value, int))
        highest = HIGHEST_COIL_RATE_SPS if self._motion.by == "coils" else HIGHEST_RATE_SPS
        return min(highest, 1_000_000_000 // period_ns)

    def _set_pulse(self, frame: Frame) -> Answer:
        self._pulse = {name: frame.fields[name] for name in ("high", "low", "setup")}
        return {**self._pulse, "highest": self.highest_rate_sps}

    def _drive(self, frame: Frame) -> Answer:
        self._motion.by = str(frame.fields["by"])
        self._motion.form = str(frame.fields.get("form", "full"))
        return {"by": self._motion.by, "form": self._motion.form}

    def _set_idle(self, frame: Frame) -> Answer:
        self._motion.idle_s = frame.whole("ms") / 1000
        return {"ms": frame.fields["ms"]}

    def _outputs(self, frame: Frame) -> Answer:
        self._motion.switch(bool(frame.fields["on"]))
        return {"on": frame.fields["on"]}

    def _move(self, frame: Frame) -> Answer:
        return {"ms": round(self._motion.begin(legs_of(frame)) * 1000)}

    def _ease(self, frame: Frame) -> Answer:
        self._motion.ease()
        return {"pos": self._motion.position}

    def stop(self) -> Answer:
        """No more steps, outputs off."""
        for word, fields in self._motion.cut("stopped"):
            self._tell(word, fields)
        return {"pos": self._motion.position}

    def _coil(self, frame: Frame) -> Answer:
        self._motion.coil(frame.whole("pattern"), frame.whole("ms") / 1000)
        return {"pattern": frame.fields["pattern"], "ms": frame.fields["ms"]}

    def _read(self, frame: Frame) -> Answer:
        fields, supply_mv = frame.fields, self._motion.supply_mv
        samples = frame.whole("samples") if "samples" in fields else 1
        against, input_mv = fields.get("against"), self._input_mv.get(frame.whole("channel"), 0.0)
        full_mv = self._converter.full_mv(against, supply_mv)
        raw = sum(self._converter.code(input_mv, full_mv, self._rng) for _ in range(samples))
        told_mv = self._converter.told_supply_mv(supply_mv, self._rng)
        taken_mv = self._converter.taken_mv if against == "bandgap" else told_mv
        return {"raw": raw, "mv": raw * taken_mv // 1024 // samples, "supply": told_mv}

    def _scale(self, frame: Frame) -> Answer:
        if "bandgap" in frame.fields:
            self._converter.kept_mv = frame.whole("bandgap")
        return {"bandgap": self._converter.taken_mv, "kept": int(self._converter.kept_mv is not None)}

    def _pair(self, frame: Frame) -> Answer:
        names = list(PINS["clips"])
        found = self._jig.measure(len(names), frame.whole("high") - 1, frame.whole("low") - 1, self._rng)
        if isinstance(found, tuple):
            raise _found_on_clips(found)
        return dict(zip(names, found, strict=True))

    def _rise(self, frame: Frame) -> Answer:
        high, low, see = (frame.whole(name) - 1 for name in ("high", "low", "see"))
        driven = {low: 0.0, high: 1.0}
        if "hold" in frame.fields:
            driven = {frame.whole("hold") - 1: 0.0} | driven
        after_s = frame.whole("at") / CYCLES_A_SECOND
        found = self._jig.rise(len(PINS["clips"]), driven, see, after_s, self._rng)
        if isinstance(found, tuple):
            raise _found_on_clips(found)
        return {"raw": found, "at": frame.fields["at"]}

    def _index(self, frame: Frame) -> Answer:
        seen = self._motion.index
        return {"level": self._motion.motor.level, "count": seen.count, "fall": seen.fall, "rise": seen.rise}

    def _zero(self, frame: Frame) -> Answer:
        self._motion.zero()
        return {"pos": 0}
