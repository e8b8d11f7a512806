"""The moves of ``coilbench jog`` on plain lines: what to see to, the slow turn, one trial, and what became of it."""

from __future__ import annotations

import sys

from coilbench.board.link.faults import BoardRestarted, LinkLost
from coilbench.board.link.replug import wait_for_return
from coilbench.board.session.jog import JogSession, TrialEnd, TurnEnd
from coilbench.board.session.wiring import also
from coilbench.cli.output import note
from coilbench.errors import Fault, NotEnoughKnown
from coilbench.motion.before import precautions
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Outcome, Shaft, Trial, off_by

_FARTHEST_STEPS = 6000.0  # three turns of the usual geared tin can, two minutes
_TURN_SLACK = 0.01  # a virtual flag stands to a step or two of where it began


def make_ready(
    session: JogSession, wiring: list[str], cautions: tuple[str, ...], *, virtual: bool, ask: bool
) -> None:
    """What to wire and to see to; waits for the person where ``ask`` says so."""
    for line in wiring:
        note(f"  {line}")
    note(f"wiring: {also(session.drive.kind)}")
    # Here Ctrl-C stops, not a key of the screen; and coil lines have no driver whose current could be set.
    elsewhere = {"stop", "current"} if session.drive.by_coils else {"stop"}
    for each in precautions(session.shaft):
        if each.key not in elsewhere and (not virtual or each.kind == "caution"):
            note(f"{'caution' if each.kind == 'caution' else 'see that'}: {each.text}")
    for caution in cautions:
        note(f"caution: {caution}")
    if virtual:
        note("a virtual motor: its shaft answers by itself, nobody is asked")
    note("Ctrl-C stops the motor at any time")
    if ask:
        line_of("Enter when ready: ")


def line_of(question: str) -> str:
    """A line from the person. Raises NotEnoughKnown at the end of the input."""
    print(question, end="", file=sys.stderr, flush=True)
    line = sys.stdin.readline()
    if not line:
        note("")
        raise NotEnoughKnown("the answers ended before the search did", remedy="answer each move, or use --sensor")
    return line.strip().lower()


def _silent(state: str, rate_sps: float) -> None:
    """Progress is not shown on plain lines."""


def slow_turn(session: JogSession, *, counting: bool) -> TurnEnd:
    """One slow turn. Raises Fault when it went wrong, or when the sensor counted other steps than were entered;
    not the latter where ``counting`` them is what it is made for."""
    shaft = session.shaft
    note("one slow turn" if not shaft.sensor else "slow turns, until the sensor has counted the steps of one")
    session.ready()
    turn = session.turn(_silent, _FARTHEST_STEPS if counting else None)
    if not turn.complete:
        raise Fault(f"the slow turn ended early: {turn.why}", remedy="look at the supply and the cable")
    if shaft.sensor:
        _check_count(turn, shaft, counting)
    elif turn.turns is not None and abs(turn.turns - 1) > _TURN_SLACK:
        raise Fault(
            f"the flag made {turn.turns:.3g} turns, not one", remedy="check coils, current and steps per turn"
        )
    return turn


def _check_count(turn: TurnEnd, shaft: Shaft, counting: bool) -> None:
    if turn.edges == 0:
        raise Fault("the index sensor saw no edge in a slow turn", remedy="check flag, sensor, wiring")
    if turn.counted is None:
        if counting:
            raise NotEnoughKnown(turn.uncounted)
        note(f"the steps of a turn were not counted: {turn.uncounted}")
        return
    note(f"counted {turn.counted.steps_per_turn:.5g} steps a turn")
    if not counting and (wrong := turn.miscounted(shaft)):
        raise Fault(wrong, remedy=f"give {options_for(turn, shaft)}")


def options_for(turn: TurnEnd, shaft: Shaft) -> str:
    """The options that say what was counted."""
    assert turn.counted is not None
    counted = turn.counted
    if shaft.flag_on == "output" and shaft.gear != 1:
        return f"--gear {counted.steps_per_turn / shaft.steps_per_turn:.5g}"
    return f"--steps-per-turn {counted.usual or round(counted.steps_per_turn)}"


def made(session: JogSession, trial: Trial, before: int, unit: str, to_go: int | None = None) -> Outcome:
    """Make a trial and learn what became of it: from the sensor, a virtual shaft, or the person.

    ``to_go`` is about how many moves are left, this one too.
    """
    left = "" if to_go is None else f", about {to_go} to go"
    note(f"move {before + 1}{left}: {trial.question} at {trial.tested:.0f} {unit}")
    end = _moved(session, trial)
    if not end.complete:
        raise Fault(f"the move ended early: {end.why}", remedy="look at the supply and the cable, then begin again")
    outcome = end.outcome or end.flag or _asked()
    note(f"  {outcome_words(outcome)}")
    return outcome


def outcome_words(outcome: Outcome) -> str:
    """What became of a trial, in a few words."""
    if outcome.skipped is None:
        return "not counted"
    if not outcome.skipped:
        return "held"
    lost = outcome.missed_steps if outcome.missed_steps is not None else 4 * (outcome.jumps or 0)
    return f"skipped, {abs(lost):.0f} steps off" if lost else "skipped"


def _moved(session: JogSession, trial: Trial) -> TrialEnd:
    """Make the move; when the board is unplugged meanwhile, wait for it, and for a word before it moves again.

    Raises LinkFault where nobody gives that word.
    """
    session.ready()
    try:
        return session.trial(trial, _silent)
    except (LinkLost, BoardRestarted) as fault:
        note(f"{fault}; waiting for the board, Ctrl-C ends")
        wait_for_return(session.open)
        note("the board is back; nothing moves yet: set the flag to its mark, shaft clear")
        try:
            line_of("Enter makes the move again: ")
        except NotEnoughKnown:
            raise fault from None
        session.ready()
        return session.trial(trial, _silent)


def _asked() -> Outcome:
    while True:
        text = line_of("is the flag back on its mark? y, n, how many jumps it is off, or ? for can't tell: ")
        if text in ("y", "yes", "0"):
            return CAME_BACK
        if text in ("n", "no"):
            return off_by()
        if text in ("?", "skip"):
            return CANNOT_TELL
        if text.lstrip("-").isdecimal() and abs(int(text)) <= 1000:
            return off_by(int(text))
        note("answer y, n, a number or ?")
