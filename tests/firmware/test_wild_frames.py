"""Frames that pass every check of the line, with anything in them: what a checksum of 16 bits may let through.

The board does what its tables allow, never a step outside its limits, and is off when left alone.
"""

from __future__ import annotations

import random
from typing import Any

import pytest

from coilbench.board.link.frames import Frame, encode
from coilbench.board.link.messages import VERBS, Choice, Refusal, Rule, range_refusal, shape_refusal

FRAMES_A_PART = 1500
PARTS = 2
CYCLES_PER_MS = 16_000
LONGEST_STANDING_MS = 5050
ODD_NAMES = ["x", "steps", "of", "ms", "on", "rest", "protocol"]
ODD_VALUES: list[int | str] = [0, 1, -1, 999_999_999, -999_999_999, "driver", "a-1,b", 65_536, 2**15, 255, 256]
OFTEN = ["move", "trip", "pace", "outputs", "coil", "drive", "pulse", "ease", "beat"]


CHIPS_OWN = ("read", "pair", "rise")


class Lines:
    """Follows the output lines edge by edge and insists on what must hold whatever is asked."""

    def __init__(self, chip: Any) -> None:
        self.chip = chip
        self.names = {watch: pin for pin, watch in chip.watched.items()}
        self.level = {pin: int(chip.is_driven_high(pin) is True) for pin in chip.watched}
        self.rose = self.fell = self.turned = self.lit_at = -(10**9)
        self.position = 0  # by STEP and DIR
        self.lent = False  # to clips: inputs then, whose pull-ups are on for a moment
        chip.forget_edges()

    def pattern(self) -> int:
        return sum(self.level[pin] << place for place, pin in enumerate(self.chip.pins["coils"]))

    def follow(self) -> None:
        """Take in what happened since the last call."""
        edges = [
            (int(edge["cycle"]), self.names[int(edge["watch"])], int(edge["level"])) for edge in self.chip.edges()
        ]
        self.chip.forget_edges()
        for place, (cycle, pin, level) in enumerate(edges):
            lit = self.pattern()
            self.level[pin] = level
            if pin == self.chip.pins["step"]:
                self._step(cycle, level)
            elif pin == self.chip.pins["dir"]:
                assert cycle - max(self.rose, self.fell) >= 80, "DIR turned too soon after a step"
                self.turned = cycle
            elif not self.lent and (place + 1 == len(edges) or edges[place + 1][0] != cycle):  # of one write
                now = self.pattern()
                assert now & 5 != 5 and now & 10 != 10, f"opposite coils: {now:04b}"
                assert not (now and not self.level[self.chip.pins["enable"]]), "driver and coils on together"
                assert not lit or cycle - self.lit_at <= LONGEST_STANDING_MS * CYCLES_PER_MS, (
                    "a pattern stood too long"
                )
                self.lit_at = cycle

    def _step(self, cycle: int, level: int) -> None:
        if not level:
            assert cycle - self.rose >= 40, "a short pulse"
            self.fell = cycle
            return
        assert not self.level[self.chip.pins["enable"]], "a step with the driver off"
        assert cycle - self.fell >= 40 and cycle - self.rose >= 160 - 45, "steps too near each other"
        assert cycle - self.turned >= 80, "a step too soon after DIR turned"
        self.rose = cycle
        self.position += 1 if self.level[self.chip.pins["dir"]] else -1


def value_for(rng: random.Random, rule: Rule) -> int | str:
    luck = rng.random()
    if luck < 0.05:
        return rng.choice(ODD_VALUES)
    if isinstance(rule, Choice):
        return rng.choice(rule.words)
    if luck < 0.12:
        return rng.choice([rule.low - 1, rule.high + 1, rule.low, rule.high])
    if rule.name == "steps":
        return rng.choice([-1, 1]) * rng.randint(1, 4000)
    if rule.name in ("start", "run", "back"):
        return round(10 ** rng.uniform(1, 5))
    if rule.name == "gain":
        return round(10 ** rng.uniform(1, 6.9))
    if rule.name in ("rest", "ms"):
        return min(rule.high, rng.randint(max(rule.low, 1), 400))
    return 1 if rule.name == "protocol" else rng.randint(rule.low, rule.high)


def wild_frame(rng: random.Random, number: int) -> Frame:
    """A frame by the grammar: mostly a verb with its fields, one of them often wrong, missing or too many."""
    verb = rng.choice(OFTEN) if rng.random() < 0.7 else rng.choice([*VERBS, "jump", "up"])
    rules = list(VERBS.get(verb, ()))
    rng.shuffle(rules)
    fields = {rule.name: value_for(rng, rule) for rule in rules}
    if fields.get("by") == "driver" and rng.random() < 0.9:
        fields.pop("form", None)
    luck = rng.random()
    if luck < 0.04 and fields:
        del fields[rng.choice(list(fields))]
    elif luck < 0.08 and verb != "trip":  # that one fills the line
        fields[rng.choice(ODD_NAMES)] = rng.choice(ODD_VALUES)
    return Frame("ask", number, verb, fields)


def expected(frame: Frame, highest: int, by_coils: bool) -> Refusal | None:
    """The refusal that hangs on the frame alone; how many inputs and clips there are is the chip's business."""
    if frame.word not in VERBS:
        return "verb", {}
    refused = shape_refusal(frame) or range_refusal(frame, highest, 2000 if by_coils else 60_000)
    return ("range", {}) if refused and frame.word in CHIPS_OWN and refused[0] == "range" else refused


class WildHost:
    """Asks what comes to mind, and keeps the little that the checks need to know."""

    def __init__(self, host: Any, rng: random.Random) -> None:
        self.host, self.rng, self.lines = host, rng, Lines(host.chip)
        self.highest, self.by_coils = 100_000, False
        self.counting_from: int | None = None  # what to take off pos to compare it with the pulses
        self.done: dict[str, int] = {}

    def ask(self) -> None:
        frame = wild_frame(self.rng, self.host.next)
        line = encode(frame)
        self.host.next = self.host.next % 65535 + 1
        answer = self.host.send(line + b"\n")
        refused = expected(frame, self.highest, self.by_coils)
        if refused is not None:
            fields = {name: value for name, value in answer.fields.items() if name in refused[1]}
            assert (answer.kind, answer.word, fields) == ("no", *refused), frame
        elif answer.kind == "no":
            # There is no jig; a bandgap that is taken for too little makes a supply of it that is too low.
            late = ("busy", "off", "on", "by", "duty", "wire", "supply")
            in_range = frame.word not in CHIPS_OWN or answer.word != "range"
            assert answer.word in late or not in_range, (frame, answer)
        else:
            self.done[frame.word] = self.done.get(frame.word, 0) + 1
            self._note(frame)

    def _note(self, frame: Frame) -> None:
        if frame.word in ("pulse", "drive"):
            self.highest = int(self.host.ask("limits", of="rates").fields["highest"])
        if frame.word == "drive":
            self.by_coils = frame.fields["by"] == "coils"
            self.lines.follow()
            self.lines.lent = frame.fields["by"] == "clips"
        if frame.word == "reset":
            self.host.events.clear()
            self.host.next = self.host.event("hello").whole("next")
            self.host.ask("hello", protocol=1)
            self.highest, self.by_coils = 100_000, False
            self.lines.follow()
            self.lines.lent = False
        if frame.word in ("drive", "reset", "zero"):
            self.counting_from = None

    def check(self) -> None:
        """Whatever was going on: the pulses made are the steps counted."""
        self.host.ask("stop")
        self.host.wait(1)
        self.lines.follow()
        if not self.by_coils:
            position = self.host.ask("beat").fields["pos"] - self.lines.position
            assert self.counting_from in (None, position)
            self.counting_from = position
        self.host.events.clear()


@pytest.mark.long("sketch")
@pytest.mark.parametrize("part", range(PARTS))
def test_whole_frames_with_anything_in_them(host: Any, part: int) -> None:
    rng = random.Random(500 + part)
    chip = host.chip
    wild = WildHost(host, rng)
    for place in range(FRAMES_A_PART):
        wild.ask()
        luck = rng.random()
        if luck < 0.3:
            host.wait(rng.choice([1, 5, 40]))
        elif luck < 0.31:
            host.wait(700)  # a motion under way ends for want of beats
        if place % 25 == 24:
            wild.check()
    assert not chip.watchdog_resets and not chip.late_compares
    assert host.ask("counts").fields["lost"] == 0
    for verb in ("move", "trip", "pace", "outputs", "coil", "drive", "pulse", "ease", "zero", "reset"):
        assert wild.done.get(verb, 0) >= 3, wild.done
    host.ask("idle", ms=1000)
    host.wait(2100)
    assert chip.outputs_off
    wild.check()
