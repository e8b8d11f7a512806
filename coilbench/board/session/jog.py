"""A board while a motor is jogged: slow turns and trials. Rates and steps are full steps."""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import nullcontext
from dataclasses import dataclass
from functools import partial
from typing import Any

from coilbench.board.client.client import Helper
from coilbench.board.client.orders import MotionEnd, MoveOrder, TripOrder
from coilbench.board.link.answers import whole, word
from coilbench.board.link.faults import Refused
from coilbench.board.link.frames import Frame
from coilbench.board.link.link import BeginLog
from coilbench.board.link.messages import COIL_ON_BACK
from coilbench.board.session.drive import Drive
from coilbench.board.session.session import BoardSession, OpenHelper, Progress
from coilbench.board.session.shaking import felt_worse, hand_on
from coilbench.board.session.turn_counter import WANTED_PASSES, EdgeNotes
from coilbench.errors import NotEnoughKnown
from coilbench.motion.before import slow_turn
from coilbench.motion.trials import STEPS_PER_JUMP, Outcome, Shaft, Trial, off_by, outcome_from_index
from coilbench.motion.turns import TurnCount

SETTLE_S = 0.3  # a rotor that is switched on swings to its place first
COIL_HOLD_S = 1.0  # coils without a current limit are not held longer than a settling takes
SEEK_RATE_SPS = 50.0
TURN_GAIN_SPS2 = 200.0
_MOST_TURNS = 8  # to look for three passes of the flag, in turns as they were entered
_COUNT_SLACK = 0.002  # a gear's ratio is seldom known better than so
_OVER = 1.1  # a turn and a bit passes the flag for certain

_COOL_MORE_S = COIL_ON_BACK * (SETTLE_S + 0.1)  # settling before the move uses some of it up again
_STOPPED = MotionEnd("stopped", 0, 0)


@dataclass(frozen=True)
class TurnEnd:
    """A slow turn ended: ``edges`` index edges were seen; ``turns`` is what a virtual flag did.

    With a sensor ``counted`` is the number of steps it made of a turn, or ``uncounted`` says why there is none.
    """

    complete: bool
    why: str
    edges: int
    turns: float | None
    counted: TurnCount | None = None
    uncounted: str = ""

    def miscounted(self, shaft: Shaft) -> str:
        """What the sensor counted, where that isn't the turn that was entered; else empty."""
        if self.counted is None:
            return ""
        counted, entered = self.counted.steps_per_turn, shaft.flag_steps
        if abs(counted - entered) <= max(1.0, _COUNT_SLACK * entered):
            return ""
        return f"the sensor counted {counted:.5g} steps a turn of the flag, not {entered:.5g}"


@dataclass(frozen=True)
class TrialEnd:
    """A trial ended. ``outcome`` is the sensor's answer where one is used; ``flag`` what a virtual flag shows."""

    complete: bool
    why: str
    outcome: Outcome | None
    flag: Outcome | None


class JogSession(BoardSession):
    """A board that turns the motor by ``drive``."""

    def __init__(
        self, url: str, drive: Drive, shaft: Shaft, log: BeginLog | None = None, *, opener: OpenHelper = Helper.open
    ) -> None:
        super().__init__(url, log, drive.pulses, opener=opener)
        self.drive = drive
        self.shaft = shaft
        self._edge_before: float | None = None

    def _set_up(self, helper: Helper) -> None:
        self._edge_before = None
        if self.drive.by_coils:
            helper.drive_by_coils(self.drive.form)
            helper.set_idle(COIL_HOLD_S)
        else:
            helper.drive_by_driver()

    def turn(self, progress: Progress, farthest_steps: float | None = None) -> TurnEnd:
        """One slow turn of the flag; a sensor counts its steps, over as many turns as that takes.

        With ``farthest_steps`` it looks for the flag so far even where none came by in two turns as entered.
        Raises LinkFault, Refused, OffLimits.
        """
        with self._busy:
            helper = self._begin()
            before, index = self.shaft_steps(), helper.index()
            notes, tell = EdgeNotes(self._pulses, index.level), self._watcher(progress)

            def watch(frame: Frame) -> None:
                notes.watch(frame)
                tell(frame)

            turn, sensor = slow_turn(self.shaft), self.shaft.sensor
            steps = math.ceil(turn.steps * (_OVER if sensor else 1.0) * self._pulses)
            rate_sps, made, farthest = turn.rate_sps, 0, farthest_steps or _MOST_TURNS * turn.steps
            while True:
                rate = max(rate_sps * self._pulses, helper.rates.lowest_sps)
                order = MoveOrder(steps, rate, rate, TURN_GAIN_SPS2 * self._pulses)
                end = self._motion(helper, partial(helper.move, order, watch), progress)
                made += steps
                enough = notes.passes >= WANTED_PASSES or made >= farthest * self._pulses
                blind = farthest_steps is None and not notes.passes and made >= 2 * turn.steps * self._pulses
                if not (sensor and end.complete) or enough or blind:
                    break
                rate_sps = max(rate_sps, SEEK_RATE_SPS)
            self._settle(helper)
            counted, uncounted = self._counted(notes) if sensor and end.complete else (None, "")
            turns = self._turns(before)
            return TurnEnd(end.complete, end.why, helper.index().edges - index.edges, turns, counted, uncounted)

    @staticmethod
    def _counted(notes: EdgeNotes) -> tuple[TurnCount | None, str]:
        try:
            return notes.counted(), ""
        except NotEnoughKnown as problem:
            return None, str(problem)

    def trial(self, trial: Trial, progress: Progress) -> TrialEnd:
        """Make one trial, and say what sensor or virtual flag show after it. Raises LinkFault, Refused, OffLimits."""
        with self._busy:
            helper = self._begin()
            if trial.question == "swing":
                return self._felt(helper, trial, progress)
            if self.shaft.sensor and self._edge_before is None:
                self._edge_before = self._pass_edge(helper, progress, trial.back_rate_sps)
            before, edges = self.shaft_steps(), helper.index().edges
            end = self._motion(helper, self._move_of(helper, trial, self._watcher(progress)), progress)
            if not end.complete:
                self._edge_before = None  # where it stands now is not known
                return TrialEnd(False, end.why, None, None)
            self._settle(helper)
            if trial.question == "back" and helper.index().edges == edges and self.shaft.sensor:
                self._edge_before = None
                return TrialEnd(True, end.why, off_by(), self._flag(before, trial))
            flag = self._flag(before, trial)
            return TrialEnd(True, end.why, self._sensed(helper, trial, progress), flag)

    def _felt(self, helper: Helper, trial: Trial, progress: Progress) -> TrialEnd:
        """Two stretches, and on which of them a virtual shaft shook worse: no sensor tells that."""
        motor, self._edge_before = self._motor(), None
        move = self._move_of(helper, trial, self._watcher(progress))
        with nullcontext(()) if motor is None else hand_on(motor) as felt:
            end = self._motion(helper, move, progress)
        return TrialEnd(end.complete, end.why, None, felt_worse(felt) if felt and end.complete else None)

    def _move_of(self, helper: Helper, trial: Trial, watch: Callable[[Frame], None]) -> Callable[[], MotionEnd]:
        """What the board is to do: out and back, or the way back alone."""
        if trial.question != "back":
            return partial(helper.trip, TripOrder(**_whole_trip(trial, self._pulses)), watch)
        rate = max(trial.back_rate_sps * self._pulses, helper.rates.lowest_sps)
        gain = trial.acceleration_sps2 * self._pulses
        return partial(helper.move, MoveOrder(-trial.steps * self._pulses, rate, rate, gain), watch)

    def _begin(self) -> Helper:
        helper = self._connected()
        if (motor := self._motor()) is not None:
            # Nobody begins a move on a shaft that something runs away with: the hand that sets the flag stops it.
            motor.stop_by_hand()
        self._switch_on(helper, lambda state, rate_sps: None)
        return helper

    def _switch_on(self, helper: Helper, progress: Progress) -> None:
        """Outputs on and the rotor at rest; waits first where the coils have used their time up."""
        try:
            helper.switch_outputs(True)
        except Refused as refusal:
            self._cool(helper, refusal, _COOL_MORE_S, progress)
            if self._stopped:
                return
            helper.switch_outputs(True)
        self._settle(helper)

    def _motion(self, helper: Helper, motion: Callable[[], MotionEnd], progress: Progress) -> MotionEnd:
        """Make a motion unless a stop came before it; one that came on the way has switched the outputs off."""
        if self._stopped:
            self.stop()
            return _STOPPED
        try:
            end = self._motion_when_cool(helper, motion, progress)
        except Refused:
            if self._stopped:
                return _STOPPED
            raise
        return _STOPPED if self._stopped else end

    def _motion_when_cool(self, helper: Helper, motion: Callable[[], MotionEnd], progress: Progress) -> MotionEnd:
        try:
            return motion()
        except Refused as refusal:
            self._cool(helper, refusal, _COOL_MORE_S, progress)
            self._switch_on(helper, progress)
            return _STOPPED if self._stopped else motion()

    def _settle(self, helper: Helper) -> None:
        self._pause(helper, SETTLE_S)

    def _watcher(self, progress: Progress) -> Callable[[Frame], None]:
        def watch(frame: Frame) -> None:
            if frame.word == "progress":
                progress(word(frame.fields, "state"), whole(frame.fields, "rate") / self._pulses)

        return watch

    # Index sensor

    def _sensed(self, helper: Helper, trial: Trial, progress: Progress) -> Outcome | None:
        if not self.shaft.sensor or self._edge_before is None:
            return None
        # A way back of a turn or more passes the flag for certain.
        passed = trial.steps >= self.shaft.flag_steps * _OVER
        after = (
            helper.index().fall / self._pulses if passed else self._pass_edge(helper, progress, trial.back_rate_sps)
        )
        if after is None:
            return Outcome("unclear")
        outcome = outcome_from_index(self._edge_before, after, self.shaft)
        self._edge_before = after
        return outcome

    def _pass_edge(self, helper: Helper, progress: Progress, rate_sps: float) -> float | None:
        """Position of the flag's edge, full steps, on the slow way back of over a turn; None when it never passed."""
        edges = helper.index().edges
        steps = math.ceil(self.shaft.flag_steps * _OVER) * self._pulses
        rate = max(rate_sps * self._pulses, helper.rates.lowest_sps)
        order = TripOrder(steps, rate, rate, TURN_GAIN_SPS2 * self._pulses, 0.1, rate)
        end = self._motion(helper, partial(helper.trip, order, self._watcher(progress)), progress)
        index = helper.index()
        return index.fall / self._pulses if end.complete and index.edges > edges else None

    # The virtual shaft

    def _turns(self, before: float | None) -> float | None:
        """Turns of the virtual flag, by the motor's own teeth and gear: not by what was entered."""
        after, motor = self.shaft_steps(), self._motor()
        if before is None or after is None:
            return None
        return float((after - before) / motor.body.figures.steps_per_turn / motor.gear)

    def _flag(self, before: float | None, trial: Trial) -> Outcome | None:
        after = self.shaft_steps()
        if before is None or after is None:
            return None
        if trial.question == "back" and abs(after - before) < trial.steps / 2:
            return off_by()  # it stood still, or nearly: that is seen, though the flag may be on its mark
        # By eye whole turns can't be told apart.
        jumps = round(math.remainder(after - before, self.shaft.flag_steps) / STEPS_PER_JUMP)
        return off_by(jumps) if jumps else Outcome("returned", 0)


def _whole_trip(trial: Trial, microsteps: int) -> dict[str, Any]:
    fields: dict[str, Any] = dict(trial.trip(microsteps))
    fields["steps"] = round(fields["steps"])
    return fields
