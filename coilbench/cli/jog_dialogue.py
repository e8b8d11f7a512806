"""The jog on plain lines: its jobs done one after the other, its questions put to the person."""

from __future__ import annotations

import sys

from coilbench.board.link.faults import BoardRestarted, LinkLost
from coilbench.board.link.replug import wait_for_return
from coilbench.board.session.wiring import also
from coilbench.cli.output import note
from coilbench.errors import CoilbenchError, Fault, InputProblem, NotEnoughKnown
from coilbench.stages.jog.driving import precautions
from coilbench.stages.jog.flag_answers import outcome_words
from coilbench.stages.jog.searches import Limits
from coilbench.stages.jog.session import Job
from coilbench.stages.jog.slow_turn import COUNTED
from coilbench.stages.jog.stage import JogStage

_FLAG = "is the flag back on its mark? y, n, how many slips of 4 full steps it is off, or ? for can't tell: "
_FELT = "on which way did it shake worse, by fingertip or ear? 1 out, 2 back, 3 no difference, or ? for can't tell: "


class Dialogue:
    """Drives a stage. ``ask``: a person is there and is asked before anything moves."""

    def __init__(self, stage: JogStage, *, ask: bool) -> None:
        self.stage = stage
        self.ask = ask

    def do(self, job: Job | None) -> None:
        """Do a job and all that follow from it by themselves."""
        while job is not None:
            judged = len(self.stage.search.answers)
            moving = self.stage.moving and self.stage.stand == "search"
            if moving:
                self._announce()
            try:
                result = self._done(job, again=moving)
            except CoilbenchError as problem:
                self.stage.failed(problem)
                raise
            job = self.stage.done(result)
            if len(self.stage.search.answers) > judged:
                note(f"  {outcome_words(self.stage.search.answers[-1][1])}")

    def _done(self, job: Job, *, again: bool) -> object:
        """What a job returns; where the board is unplugged in a move, that is made again when it is back.

        Raises LinkFault where nobody gives the word for it.
        """
        try:
            return job(_silent)
        except (LinkLost, BoardRestarted) as fault:
            session = self.stage.session
            if not again or session is None:
                raise
            note(f"{fault}; waiting for the board, Ctrl-C ends")
            wait_for_return(session.open)
            note("the board is back; nothing moves yet: set the flag to its mark, shaft clear")
            try:
                line_of("Enter makes the move again: ")
            except NotEnoughKnown:
                raise fault from None
            session.ready()
            return job(_silent)

    def _announce(self) -> None:
        scene, search = self.stage.scene, self.stage.search
        trial = search.trial
        assert trial is not None
        left = "" if scene.to_go is None else f", about {scene.to_go} to go"
        what = "the way back alone," if trial.question == "back" else trial.question
        back = f" out, {trial.back_rate_sps:.0f} back" if trial.question == "swing" else ""
        note(f"move {scene.moves + 1}{left}: {what} at {trial.tested:.0f} {scene.unit}{back}")
        if search.judged is not None and search.judged.why and not search.proving:
            note(search.judged.why)

    # What stands before the searches

    def make_ready(self, *, virtual: bool) -> None:
        """What to wire and to see to; waits for the person where one is asked."""
        stage, setting = self.stage, self.stage.setting
        assert setting is not None
        setup = stage.setup(ascii=True, sensor=setting.shaft.sensor)
        if setting.drive.by_coils:
            for line in setup.wiring:
                note(f"  {line}")
        note(f"wiring: {also(setting.drive.kind)}")
        for mark, text in precautions(setting.drive, setting.shaft, virtual=virtual):
            note(f"{mark}: {text}")
        for caution in ((setup.unset,) if setup.unset else ()) + setup.cautions:
            note(f"caution: {caution}")
        if virtual:
            note("a virtual motor: its shaft answers by itself, nobody is asked")
        note("Ctrl-C stops the motor at any time")
        if self.ask:
            line_of("Enter when ready: ")

    def turn(self, *, only_count: bool) -> None:
        """One slow turn, looked at. Raises Fault where it went wrong, NotEnoughKnown for a count that wasn't one."""
        stage = self.stage
        assert stage.setting is not None
        sensor = stage.setting.shaft.sensor
        note("slow turns, until the sensor has counted the steps of one" if sensor else "one slow turn")
        self.do(stage.turn(only_count=only_count))
        turn = stage.turn_end
        assert turn is not None
        if stage.stopped:
            raise Fault(f"the slow turn ended early: {stage.stopped}", remedy="look at the supply and the cable")
        if stage.corrected:
            ((field, text),) = stage.corrected.items()
            raise Fault(stage.says, remedy=f"give {'--gear' if field == 'gear' else '--steps-per-turn'} {text}")
        if stage.stand != "turned":
            raise Fault(stage.says)
        if sensor:
            if turn.counted is None and only_count:
                raise NotEnoughKnown(turn.uncounted)
            counted = "" if turn.counted is None else f"counted {turn.counted.steps_per_turn:.5g} steps a turn"
            note(counted or f"the steps of a turn were not counted: {turn.uncounted}")
            self.do(stage.turned(COUNTED))
        elif stage.shaft_answers:
            self.do(stage.shaft_answer())
        elif self.ask:
            self._ask_how_it_turned()
        else:
            self.do(stage.turned("turned"))
        stands: str = self.stage.stand
        if stands == "wire":
            made = f"the flag made {turn.turns:.3g} turns, not one: " if turn.turns is not None else ""
            raise Fault(f"{made}{stage.says}")
        if stands == "choose" and stage.pause:
            note(stage.pause)

    def _ask_how_it_turned(self) -> None:
        answers = dict(self.stage.scene.answers)
        for digit, words in answers.items():
            note(f"  {digit} {words}")
        while True:
            text = line_of("did it turn once, smoothly? ")
            if text.isdecimal() and int(text) in answers:
                self.do(self.stage.answer_digit(int(text)))
                return
            note(f"answer {', '.join(map(str, answers))}")

    # Searches

    def search(self, kind: str, limits: Limits) -> None:
        """Find one thing, or go on finding it."""
        stage = self.stage
        self.do(stage.choose(kind, limits))
        if stage.search.answers:
            note(f"goes on with {len(stage.search.answers)} moves that were made before")
        self._to_the_end()

    def _to_the_end(self) -> None:
        stage = self.stage
        while stage.search.trial is not None:
            self._step()

    def _step(self) -> None:
        stage = self.stage
        if stage.search.asked is None:
            self.do(stage.go())
        elif stage.shaft_answers:
            self.do(stage.shaft_answer())
        else:
            self._ask_where_the_flag_is()
        if stage.stopped:
            why = f"the move ended early: {stage.stopped}"
            raise Fault(why, remedy="look at the supply and the cable, then begin again")

    def _ask_where_the_flag_is(self) -> None:
        while True:
            text = line_of(_FELT if self.stage.search.is_felt else _FLAG)
            try:
                job = self.stage.answer(text)
            except InputProblem as problem:
                note(problem.happened)
                continue
            self.do(job)
            if self.stage.pause and self.stage.search.trial is not None:
                note(self.stage.pause)
                line_of("Enter when ready: ")
            return

    def prove(self, moves: int) -> None:
        """Proving moves until so many in a row were clean or one was not; the working figure may rise on the way."""
        stage = self.stage
        stage.prove(moves)
        for _ in range(2 * moves):
            judged = stage.search.judged
            if judged is None or stage.search.trial is None or judged.proved >= moves:
                return
            if judged.proved == 0 and stage.search.proof_skipped:
                return
            self._step()


def line_of(question: str) -> str:
    """A line from the person. Raises NotEnoughKnown at the end of the input."""
    print(question, end="", file=sys.stderr, flush=True)
    line = sys.stdin.readline()
    if not line:
        note("")
        raise NotEnoughKnown("the answers ended before the search did", remedy="answer each move, or use --sensor")
    return line.strip().lower()


def _silent(state: str, rate_sps: float) -> None:
    """What the board does meanwhile is not shown on plain lines."""
