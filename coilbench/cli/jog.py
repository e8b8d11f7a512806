"""``coilbench jog``: a search for the fastest start and run without skipped steps, over a port, on plain lines."""

from __future__ import annotations

import argparse
import math
import sys

from coilbench.board.faults import BoardRestarted, LinkLost
from coilbench.board.jog_session import BoardFound, JogSession, TrialEnd
from coilbench.board.replug import wait_for_return
from coilbench.cli.jog_result import fact_of, result_object, show
from coilbench.cli.motor_facts import MotorFacts
from coilbench.cli.output import note, print_json
from coilbench.errors import Fault, InputProblem, NotEnoughKnown
from coilbench.motion.before import precautions
from coilbench.motion.resonance import Band, ScanPlan, next_scan_trial, scan_bands
from coilbench.motion.search import (
    SearchPlan,
    SearchState,
    SearchSummary,
    begin,
    next_trial,
    proving_trial,
    record,
    summary,
)
from coilbench.motion.trials import CAME_BACK, CANNOT_TELL, Outcome, Shaft, Trial, off_by

HELP = "Find how fast a motor starts and runs without skipping, by trials over a helper board's port."

QUESTIONS = ("start", "run", "acceleration")
# Ranges searched when none is given, full steps/s and steps/s2: wider than salvaged motors reach (common practice).
_RANGES = {"start": (50.0, 4000.0), "run": (100.0, 10_000.0), "acceleration": (500.0, 100_000.0)}
_CAREFUL_SPS = 100.0
_START_SHARE = 0.8
_BACK_SHARE = 0.6


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Port, shaft, what to look for."""
    parser.add_argument("--port", required=True, metavar="PORT", help="such as /dev/ttyACM0, COM3 or virtual://bench")
    parser.add_argument("--find", default="start,run", metavar="LIST", help="start, run, acceleration (start,run)")
    parser.add_argument("--steps-per-turn", type=int, metavar="N", help="full steps a turn (200)")
    parser.add_argument("--microsteps", type=int, metavar="N", help="as set on the driver (1)")
    parser.add_argument("--gear", type=float, default=1.0, metavar="X", help="rotor turns per turn of the output (1)")
    parser.add_argument("--flag", choices=("rotor", "output"), default="output", help="the shaft the flag is on")
    parser.add_argument(
        "--acceleration", type=float, default=5000.0, metavar="A", help="for the runs, steps/s2 (5000)"
    )
    parser.add_argument("--lowest", type=float, metavar="R", help="of the range of the first thing to find")
    parser.add_argument("--highest", type=float, metavar="R", help="of the range of the first thing to find")
    parser.add_argument("--width", type=float, default=8.0, metavar="PERCENT", help="of the interval to stop at (8)")
    parser.add_argument("--moves", type=int, default=25, metavar="N", help="at most for each thing to find (25)")
    parser.add_argument("--prove", type=int, default=0, metavar="N", help="moves of a proving run at the end (0)")
    parser.add_argument("--resonance", action="store_true", help="look for skipping at low speed first")
    parser.add_argument("--motor", metavar="NAME", help="take what the bin knows of this motor")
    parser.add_argument("--save", action="store_true", help="keep the result with --motor")
    parser.add_argument("--sensor", action="store_true", help="an index sensor tells, nobody is asked")
    parser.add_argument("--yes", action="store_true", help="the motor is fixed and its shaft clear: don't ask")
    parser.add_argument("--json", action="store_true", help="one JSON object on standard output")


def run(args: argparse.Namespace) -> int:
    """Turn once, search, say what was found."""
    questions = _questions(args.find)
    _take_facts(args)
    shaft = Shaft(args.steps_per_turn, args.gear, args.flag, args.sensor)
    virtual = args.port.startswith("virtual://")
    if shaft.blind_because and not virtual:
        raise InputProblem(shaft.blind_because)
    if not 1 <= args.microsteps <= 256:
        raise InputProblem(f"--microsteps {args.microsteps}: expected 1 to 256")
    if not 0 <= args.prove <= 1000:
        raise InputProblem(f"--prove {args.prove}: expected 0 to 1000 moves")
    _plan(args, questions[0], True, shaft, math.inf, {}, [])  # refused before anything is opened
    session = JogSession(_port_url(args, virtual), args.microsteps, shaft)
    try:
        board = session.open()
        note(f"board: {board.chip}, sketch {board.sketch}")
        _make_ready(args, shaft, virtual)
        _slow_turn(session, shaft)
        resonant = _scanned(session, shaft) if args.resonance else []
        found = _search_all(args, session, board, questions, shaft, resonant)
    finally:
        session.close()
    result = result_object(board, args, found, resonant)
    if args.save:
        MotorFacts.put(args, "jog", fact_of(result))
        note(f"kept with {args.motor}")
    if args.json:
        print_json(result)
    else:
        show(found, resonant)
    return 0


def _take_facts(args: argparse.Namespace) -> None:
    """Fill in steps per turn and microsteps: as given, else as the bin knows them, else common practice."""
    if args.save and args.motor is None:
        raise InputProblem("--save without a motor: expected --motor NAME to keep it with")
    facts = MotorFacts.of(args)
    facts.check_usable()
    degree = facts.step_angle_degree
    if args.steps_per_turn is None:
        args.steps_per_turn = round(360 / degree) if degree else 200
    if args.microsteps is None:
        args.microsteps = facts.stage("driver").get("microsteps") or 1


def _port_url(args: argparse.Namespace, virtual: bool) -> str:
    url: str = args.port
    if virtual and args.microsteps != 1 and "microsteps=" not in url:
        url += f"{'&' if '?' in url else '?'}microsteps={args.microsteps}"
    return url


def _questions(text: str) -> list[str]:
    asked = [word.strip() for word in text.split(",") if word.strip()]
    for word in asked:
        if word not in QUESTIONS:
            raise InputProblem(f"--find {word}: expected {', '.join(QUESTIONS)}")
    if not asked:
        raise InputProblem(f"--find: expected one or more of {', '.join(QUESTIONS)}")
    return sorted(set(asked), key=QUESTIONS.index)


def _make_ready(args: argparse.Namespace, shaft: Shaft, virtual: bool) -> None:
    for each in precautions(shaft):
        if not virtual or each.kind == "caution":
            note(f"{'caution' if each.kind == 'caution' else 'see that'}: {each.text}")
    note("Ctrl-C stops the motor at any time")
    if not (virtual or args.yes):
        _line("Enter when ready: ")


def _line(question: str) -> str:
    print(question, end="", file=sys.stderr, flush=True)
    line = sys.stdin.readline()
    if not line:
        note("")
        raise NotEnoughKnown("the answers ended before the search did", remedy="answer each move, or use --sensor")
    return line.strip().lower()


def _silent(state: str, rate_sps: float) -> None:
    """Progress is not shown on plain lines."""


def _slow_turn(session: JogSession, shaft: Shaft) -> None:
    note("one slow turn")
    session.ready()
    turn = session.turn(shaft.steps_per_turn, _silent)
    if not turn.complete:
        raise Fault(f"the slow turn ended early: {turn.why}", remedy="look at the supply and the cable")
    if turn.turned_steps is not None and abs(turn.turned_steps - shaft.steps_per_turn) > 2:
        raise Fault(
            f"the shaft turned {turn.turned_steps:.0f} steps of {shaft.steps_per_turn}",
            remedy="check coils, current and steps per turn",
        )
    if shaft.sensor and turn.edges == 0:
        raise Fault("the index sensor saw no edge in a slow turn", remedy="check flag, sensor, wiring")


def _plan(
    args: argparse.Namespace,
    question: str,
    first: bool,
    shaft: Shaft,
    highest_sps: float,
    found: dict[str, SearchSummary],
    resonant: list[Band],
) -> SearchPlan:
    """The plan of a search, from what the ones before it found."""
    low, high = (args.lowest, args.highest) if first else (None, None)
    start = found["start"].working_sps if "start" in found else None
    careful = start * _START_SHARE if start else _CAREFUL_SPS
    if question == "run" and not first:
        low = max(careful, _RANGES["run"][0])
    span = _RANGES[question]
    low, high = low or span[0], high or span[1]
    if question != "acceleration":
        high = min(high, highest_sps)
    run = found["run"].working_sps if "run" in found else None
    return SearchPlan(
        question,  # type: ignore[arg-type]
        low,
        high,
        shaft,
        start_rate_sps=careful,
        run_rate_sps=run or 2 * careful,
        acceleration_sps2=args.acceleration,
        back_rate_sps=max(_CAREFUL_SPS, careful * _BACK_SHARE),
        width=args.width / 100,
        most_moves=args.moves,
        avoid=tuple((band.low_sps, band.high_sps) for band in resonant),
    )


def _scanned(session: JogSession, shaft: Shaft) -> list[Band]:
    """Low rates tried one by one, those that skipped again."""
    plan, answers = ScanPlan(shaft), list[tuple[Trial, Outcome]]()
    while (trial := next_scan_trial(plan, answers)) is not None:
        answers.append((trial, _made(session, trial, len(answers), "steps/s")))
    return scan_bands(answers)


def _search_all(
    args: argparse.Namespace,
    session: JogSession,
    board: BoardFound,
    questions: list[str],
    shaft: Shaft,
    resonant: list[Band],
) -> dict[str, SearchSummary]:
    found: dict[str, SearchSummary] = {}
    for number, question in enumerate(questions):
        plan = _plan(args, question, number == 0, shaft, board.highest_sps, found, resonant)
        state = begin(plan)
        while isinstance(trial := next_trial(state), Trial):
            state = record(state, trial, _made(session, trial, len(state.answers), state.plan.unit))
        if args.prove and question == questions[-1]:
            state = _proved(args.prove, session, state)
        found[question] = summary(state)
    return found


def _proved(moves: int, session: JogSession, state: SearchState) -> SearchState:
    """Proving moves until ``moves`` in a row were clean or one was not; the working figure may rise on the way."""
    for _ in range(2 * moves):
        now = summary(state)
        if now.working_sps is None or now.proved >= moves:
            break
        trial = proving_trial(state.plan, now.working_sps)
        state = record(state, trial, _made(session, trial, len(state.answers), state.plan.unit))
        if state.answers[-1][1].skipped:
            break
    return state


def _made(session: JogSession, trial: Trial, made: int, unit: str) -> Outcome:
    """Make a trial and learn what became of it: from the sensor, a virtual shaft, or the person."""
    note(f"move {made + 1}: {trial.question} at {trial.tested:.0f} {unit}")
    end = _moved(session, trial)
    if not end.complete:
        raise Fault(f"the move ended early: {end.why}", remedy="look at the supply and the cable, then begin again")
    outcome = end.outcome or end.flag or _asked()
    note(f"  {'skipped' if outcome.skipped else 'held' if outcome.skipped is False else 'not counted'}")
    return outcome


def _moved(session: JogSession, trial: Trial) -> TrialEnd:
    """Make the move; when the board is unplugged meanwhile, wait for it and make the move anew."""
    session.ready()
    try:
        return session.trial(trial, _silent)
    except (LinkLost, BoardRestarted) as fault:
        note(f"{fault}; waiting for the board, Ctrl-C ends")
        wait_for_return(session.open)
        note("the board is back: set the flag to its mark, the move is made again")
        session.ready()
        return session.trial(trial, _silent)


def _asked() -> Outcome:
    while True:
        text = _line("is the flag back on its mark? y, n, how many jumps it is off, or ? for can't tell: ")
        if text in ("y", "yes", "0"):
            return CAME_BACK
        if text in ("n", "no"):
            return off_by()
        if text in ("?", "skip"):
            return CANNOT_TELL
        if text.lstrip("-").isdecimal() and abs(int(text)) <= 1000:
            return off_by(int(text))
        note("answer y, n, a number or ?")
