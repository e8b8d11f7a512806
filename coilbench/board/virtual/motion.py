"""What the virtual board's outputs do over time: legs of a move, coil patterns, the time limits on both."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

from coilbench.board.link.frames import Value
from coilbench.board.link.messages import (
    BEAT_LIMIT_MS,
    COIL_LIMIT_MS,
    COIL_SEQUENCES,
    DEFAULT_IDLE_MS,
    EASE_LIMIT_MS,
    LOW_SUPPLY_MV,
)
from coilbench.board.virtual.coil_budget import CoilBudget
from coilbench.board.virtual.legs import Leg
from coilbench.board.virtual.running_motor import (
    SLOW_SPS,
    SLOW_TIME_STEP_S,
    TIME_STEP_S,
    Command,
    Edge,
    RunningMotor,
)
from coilbench.motion.ramp import plan_stop

_PROGRESS_S = 0.1
# An edge event is about 40 bytes: the line carries no more than this often beside the answers.
_EDGE_PAUSE_S = 0.01
# A rotor at rest for this long is no longer computed.
_SETTLE_S = 0.4
_MOMENT_S = 1e-9  # what rounding may do to a time

Happening = tuple[str, dict[str, Value]]


@dataclass
class IndexLatch:
    """What the index input has seen since zero."""

    count: int = 0
    fall: int = 0
    rise: int = 0


@dataclass
class BoardMotion:
    """Motion and outputs of a board with ``motor`` on it, at ``now_s``."""

    motor: RunningMotor
    now_s: float = 0.0
    origin: int = 0  # the driver's own count of steps at our position 0: it outlives a reset of the board
    outputs_on: bool = False
    by: str = "driver"
    form: str = "full"
    idle_s: float = DEFAULT_IDLE_MS / 1000
    supply_mv: int = 4980  # the board's own
    index: IndexLatch = field(default_factory=IndexLatch)

    def __post_init__(self) -> None:
        self._position = 0
        self._legs: list[Leg] = []
        self._leg_began_s = self.now_s
        self._why = "end"
        self._progress_s = self.now_s
        self._still_since_s = -math.inf  # no rotor turns before the first current
        self._coil_pattern = 0
        self._coil_until_s: float | None = None
        self._budget = CoilBudget(self.now_s)
        self._alive_s = self.now_s
        self._edge: Edge | None = None
        self._edge_told_s = self.now_s - 1.0

    # What can be asked at any time

    @property
    def state(self) -> str:
        """One of the words of PROTOCOL.md section 6."""
        if self._legs:
            return self._legs[0].state
        return "coil" if self._coil_until_s is not None else "idle"

    @property
    def moving(self) -> bool:
        return bool(self._legs)

    @property
    def position(self) -> int:
        """The count of steps now."""
        return self._position_at(self.now_s)

    @property
    def left(self) -> int:
        """Steps still to be made."""
        if not self._legs:
            return 0
        made = abs(self.position - self._position)
        return sum(leg.steps for leg in self._legs) - made

    @property
    def rate_sps(self) -> int:
        """Steps per second now."""
        profile = self._legs[0].profile if self._legs else None
        return round(profile.rate_at(self.now_s - self._leg_began_s)) if profile else 0

    # What can be done

    def sign_of_life(self) -> None:
        """A frame with a fitting check came."""
        self._alive_s = self.now_s

    def begin(self, legs: list[Leg]) -> float:
        """Begin a motion and return how long it takes, seconds."""
        self._account_coil()
        self._legs, self._leg_began_s, self._why = legs, self.now_s, "end"
        self._progress_s = self.now_s + _PROGRESS_S
        return sum(leg.duration_s for leg in legs)

    def ease(self, why: str = "eased") -> float:
        """Slow down and stop; returns how long that takes, seconds."""
        if not self._legs or self.state == "easing":
            return 0.0
        self._account_coil()
        leg, rate, at = self._legs[0], self.rate_sps, self.position
        made = abs(at - self._position)
        stop = plan_stop(rate, leg.start_sps, leg.gain_sps2, leg.steps - made) if leg.profile else None
        self._position, self._leg_began_s, self._why = at, self.now_s, why
        duration = stop.duration_s if stop else 0.0
        undone = sum(leg.steps for leg in self._legs) - made - (stop.steps if stop else 0)
        self._legs = [Leg("easing", leg.direction, stop, duration, leg.start_sps, leg.gain_sps2)]
        self._undone = undone
        return duration

    def ease_time_s(self) -> float:
        """How long an ``ease`` would take now."""
        leg = self._legs[0] if self._legs else None
        if leg is None or leg.profile is None:
            return 0.0
        if leg.state == "easing":
            return self._leg_began_s + leg.duration_s - self.now_s
        stop = plan_stop(self.rate_sps, leg.start_sps, leg.gain_sps2, leg.steps)
        return stop.duration_s if stop else 0.0

    def cut(self, why: str) -> list[Happening]:
        """No more steps from now on, outputs off; what there is to tell of it."""
        told: list[Happening] = []
        self._account_coil()
        if self._legs:
            left, at = self._left_over(), self.position
            self._legs, self._position, self._still_since_s = [], at, self.now_s
            told.append(("stop", {"why": why, "pos": at, "left": left}))
        self.switch(False)
        return told

    def switch(self, on: bool) -> None:
        """Outputs on or off."""
        self._account_coil()
        if on or self.outputs_on:
            self._still_since_s = self.now_s
        self.outputs_on = on
        self._coil_until_s = None
        if on:
            # The field comes on where the driver's own count stands; the rotor falls in with the nearest cycle.
            self.motor.time_s = max(self.motor.time_s, self.now_s)

    def wait_to_stand_s(self, standing_s: float, on_s: float) -> float:
        """How long until the coil budget holds this much, lines off; 0 when it does now, or for a driver."""
        self._account_coil()
        return self._budget.wait_s(standing_s, on_s) if self.by == "coils" else 0.0

    @property
    def coil_budget(self) -> CoilBudget:
        """What is left of it now."""
        self._account_coil()
        return self._budget

    def coil(self, pattern: int, duration_s: float) -> None:
        """Switch a pattern on for a time."""
        self._account_coil()
        self._coil_pattern, self._coil_until_s = pattern, self.now_s + duration_s
        self.outputs_on = pattern != 0

    def zero(self) -> None:
        """Count from here."""
        self.origin += self._position
        self._position = 0
        self.index = IndexLatch()

    def successor(self, *, remembers: bool) -> BoardMotion:
        """The motion of the same board after a reset: same driver and motor, all else as after power-up.

        ``remembers``: what was used up of the coil budget, as after any reset but one of the supply.
        """
        made = BoardMotion(self.motor, self.now_s, self.origin + self.position)
        if remembers:
            self._account_coil()
            made._budget = self._budget
        made._still_since_s = self._still_since_s
        made.supply_mv = self.supply_mv
        return made

    def run(self, until_s: float) -> Iterator[Happening]:
        """Carry time on and yield what happens, each while ``now_s`` stands at its time."""
        while True:
            due_s = self._next_due_s()
            target = min(until_s, due_s)
            if target > self.now_s:
                self._turn_motor(target)
                self.now_s = target
            yield from self._told_edge()
            if due_s > until_s:
                return
            yield from self._due()

    # As time passes

    def _next_due_s(self) -> float:
        due = [float("inf")]
        if self._legs:
            due.append(self._leg_began_s + self._legs[0].duration_s)
            if self._coil_on():
                due.append(self._leg_began_s + self._legs[0].on_s)
            due.append(self._progress_s)
            if self._why != "beat":
                due.append(self._alive_s + BEAT_LIMIT_MS / 1000)
        elif self._coil_until_s is not None:
            due.append(self._coil_until_s)
        elif self.outputs_on:
            due.append(self._still_since_s + self.hold_s)
        if self._coil_on():
            due.append(self._budget.used_up_s(self._standing_until_s()))
        if self.outputs_on and self.supply_mv < LOW_SUPPLY_MV:
            due.append(self.now_s)
        if self._edge is not None:
            due.append(self._edge_told_s + _EDGE_PAUSE_S)
        return max(min(due), self.now_s)

    @property
    def hold_s(self) -> float:
        """How long the outputs stay on after the last motion."""
        return min(self.idle_s, COIL_LIMIT_MS / 1000) if self.by == "coils" else self.idle_s

    def _due(self) -> Iterator[Happening]:
        if self._legs:
            yield from self._due_in_motion()
        elif self._coil_until_s is not None and self.now_s >= self._coil_until_s:
            self.switch(False)
            yield "off", {"why": "time"}
        elif self.outputs_on and self.now_s >= self._still_since_s + self.hold_s:
            self.switch(False)
            yield "off", {"why": "idle"}
        self._account_coil()
        if self.outputs_on and self.supply_mv < LOW_SUPPLY_MV:
            yield from self.cut("supply")
            yield "off", {"why": "supply"}
        if self._budget.empty and self._coil_on():
            yield from self.cut("duty")
            yield "off", {"why": "duty"}

    def _due_in_motion(self) -> Iterator[Happening]:
        if self._why != "beat" and self.now_s >= self._alive_s + BEAT_LIMIT_MS / 1000:
            if self.ease_time_s() <= EASE_LIMIT_MS / 1000:
                self.ease("beat")
                self._why = "beat"
            else:
                yield from self.cut("beat")
                yield "off", {"why": "beat"}
                return
        leg = self._legs[0]
        if self.now_s >= self._leg_began_s + leg.duration_s:
            self._account_coil()
            self._position += leg.direction * leg.steps
            self._leg_began_s += leg.duration_s
            if len(self._legs) > 1:
                self._legs.pop(0)
                self.outputs_on = True
                return
            left, why = self._undone if leg.state == "easing" else 0, self._why
            self._legs, self._still_since_s = [], self.now_s
            yield "stop", {"why": why, "pos": self._position, "left": left}
            if why == "beat":
                self.switch(False)
                yield "off", {"why": "beat"}
        elif self._coil_on() and self.now_s >= self._leg_began_s + leg.on_s:
            self._account_coil()
            self.outputs_on = False
        elif self.now_s >= self._progress_s:
            self._progress_s += _PROGRESS_S
            yield (
                "progress",
                {"pos": self.position, "left": self._left_over(), "rate": self.rate_sps, "state": self.state},
            )

    def _told_edge(self) -> Iterator[Happening]:
        if self._edge is not None and self.now_s >= self._edge_told_s + _EDGE_PAUSE_S:
            edge, self._edge, self._edge_told_s = self._edge, None, self.now_s
            yield "edge", {"level": edge.level, "pos": edge.position, "count": self.index.count}

    def _left_over(self) -> int:
        return self.left + (self._undone if self.state == "easing" else 0)

    _undone = 0

    def _position_at(self, time_s: float) -> int:
        leg = self._legs[0] if self._legs else None
        if leg is None or leg.profile is None:
            return self._position
        past_s = max(time_s - self._leg_began_s, 0.0)
        return self._position + leg.direction * int(leg.profile.position_at(past_s) + 1e-6)

    def _count(self) -> Command:
        """The driver's count over the time of the present leg; called for every time step, hence a closure."""
        leg = self._legs[0] if self._legs else None
        standing = self.origin + self._position
        if leg is None or leg.profile is None:
            return lambda time_s: standing
        began_s, direction, made = self._leg_began_s, leg.direction, leg.profile.position_at
        top_sps, count, stays_until_s = leg.profile.top_rate_sps, standing, -math.inf

        def counted(time_s: float) -> int:
            nonlocal count, stays_until_s
            if time_s >= stays_until_s:
                steps = made(time_s - began_s) + 1e-6
                count = standing + direction * int(steps)
                # The next step can't come sooner than at the leg's top rate.
                stays_until_s = time_s + (1 - steps % 1) / top_sps - _MOMENT_S
            return count

        return counted

    def _turn_motor(self, until_s: float) -> None:
        still = not self._legs and self._coil_until_s is None and self.now_s > self._still_since_s + _SETTLE_S
        if still or until_s <= self.motor.time_s:
            self.motor.time_s = max(self.motor.time_s, until_s)
            return
        patterns: tuple[int, ...] | None = None
        if self._coil_until_s is not None:
            patterns = (self._coil_pattern,)
        elif self.by == "coils":
            patterns = COIL_SEQUENCES[self.form]
        if patterns is not None:
            patterns = tuple(_reached(pattern, self.motor.lines) for pattern in patterns)
        origin = self.origin
        fine = TIME_STEP_S if self._full_steps_a_second() > SLOW_SPS else SLOW_TIME_STEP_S
        edges = self.motor.run(until_s, self._count(), powered=self.outputs_on, patterns=patterns, time_step_s=fine)
        for edge in edges:
            at = edge.position - origin
            self.index.count += 1
            if edge.level:
                self.index.rise = at
            else:
                self.index.fall = at
            self._edge = Edge(edge.time_s, at, edge.level)

    def _full_steps_a_second(self) -> float:
        """The most that the present leg comes to; on coil lines every step counts as a full one."""
        profile = self._legs[0].profile if self._legs else None
        top_sps = 0.0 if profile is None else profile.top_rate_sps
        return top_sps if self.by == "coils" else top_sps / self.motor.drive.microsteps

    def _coil_on(self) -> bool:
        """Any coil line is on."""
        return self.by == "coils" and self.outputs_on

    def _standing_until_s(self) -> float:
        """Until when the coil pattern stands, if nothing happens; the past when it does not."""
        if not self._coil_on():
            return -math.inf
        return self._leg_began_s + self._legs[0].round_s if self._legs and self._legs[0].profile else math.inf

    def _account_coil(self) -> None:
        self._budget.account(self.now_s, on=self._coil_on(), standing_until_s=self._standing_until_s())


def _reached(pattern: int, lines: tuple[int, ...]) -> int:
    """The ends that a pattern of coil lines switches on, as they are wired."""
    return sum(1 << place for line, place in enumerate(lines) if pattern >> line & 1)
