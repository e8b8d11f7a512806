"""``coilbench jog``: a search for the fastest start and run without skipped steps, over a port, on plain lines."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

from coilbench.board.link.faults import LinkFault
from coilbench.board.link.link import ConversationLog
from coilbench.board.session.drive import (
    FORMS,
    KINDS,
    Drive,
    Kind,
    check_drivable,
    driver_cautions,
    likely_kind,
    no_current_words,
)
from coilbench.board.session.figures import figures_of, with_figures
from coilbench.board.session.jog import JogSession
from coilbench.board.session.session import BoardFound
from coilbench.board.session.wiring import coil_wiring
from coilbench.cli.jog_moves import made, make_ready, slow_turn
from coilbench.cli.jog_plan import TURN, check_range, plan_of, questions_of, searches_of
from coilbench.cli.jog_result import result_object, saved_figures, show
from coilbench.cli.motor_facts import MotorFacts, add_motor_arguments
from coilbench.cli.output import note, print_json
from coilbench.errors import InputProblem
from coilbench.motion.resonance import Band, ScanPlan, next_scan_trial, scan_bands, swing_from_facts
from coilbench.motion.search import (
    SearchState,
    SearchSummary,
    begin,
    next_trial,
    proving_trial,
    record,
    summary,
    why_so_fast,
)
from coilbench.motion.search_order import Known
from coilbench.motion.search_plan import Searched
from coilbench.motion.to_go import moves_to_go
from coilbench.motion.trials import Outcome, Shaft, Trial
from coilbench.rating.coil_lines import coil_cautions, coil_lines

HELP = "Find how fast a motor starts and runs without skipping, by trials over a helper board's port."

_STEPS_PER_TURN = 200  # where nothing is known: a hybrid of 1.8 degrees (common practice)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Port, drive, shaft, what to look for."""
    parser.add_argument("--port", required=True, metavar="PORT", help="such as /dev/ttyACM0, COM3 or virtual://bench")
    parser.add_argument("--drive", choices=KINDS, help="a step/direction driver, or a transistor array or dual "
                        "H-bridge on the four coil lines (as the motor's connection says, else driver)")  # fmt: skip
    parser.add_argument("--form", choices=FORMS, default="full", help="how coil lines are switched (full)")
    parser.add_argument("--find", default="start,run", metavar="LIST",
                        help="start, run, acceleration; turn: steps a turn, by the sensor (start,run)")  # fmt: skip
    parser.add_argument("--steps-per-turn", type=int, metavar="N", help="full steps of the rotor's turn (200)")
    parser.add_argument("--microsteps", type=int, metavar="N", help="as set on the driver (1)")
    parser.add_argument("--gear", type=float, metavar="X", help="rotor turns per turn of the output (1)")
    parser.add_argument("--flag", choices=("rotor", "output"), help="the shaft the flag is on (output)")
    parser.add_argument(
        "--acceleration", type=float, default=5000.0, metavar="A", help="for the runs, steps/s2 (5000)"
    )
    parser.add_argument("--lowest", type=float, metavar="R", help="of the range of the first thing to find")
    parser.add_argument("--highest", type=float, metavar="R", help="of the range of the first thing to find")
    parser.add_argument("--width", type=float, default=8.0, metavar="PERCENT", help="of the interval to stop at (8)")
    parser.add_argument("--moves", type=int, default=25, metavar="N", help="at most for each thing to find (25)")
    parser.add_argument("--prove", type=int, default=0, metavar="N", help="moves of a proving run at the end (0)")
    parser.add_argument("--resonance", action="store_true", help="look for skipping at low speed first")
    parser.add_argument("--sensor", action="store_true", help="an index sensor tells, nobody is asked")
    parser.add_argument("--log", type=Path, metavar="FILE",
                        help="write what both sides say; coilbench board --replay FILE shows it")  # fmt: skip
    parser.add_argument("--yes", action="store_true", help="the motor is fixed and its shaft clear: don't ask")
    add_motor_arguments(parser, "the result, one for each drive,")


def run(args: argparse.Namespace) -> int:
    """Turn once, search, say what was found."""
    questions = questions_of(args.find)
    facts = MotorFacts.of(args)
    facts.check_usable()
    drive, shaft = _drive(args, facts), _shaft(args, facts)
    check_drivable(drive.kind, facts.stages)
    virtual = args.port.startswith("virtual://")
    if shaft.blind_because and not virtual:
        raise InputProblem(shaft.blind_because)
    if not 0 <= args.prove <= 1000:
        raise InputProblem(f"--prove {args.prove}: expected 0 to 1000 moves")
    known = _known(facts, drive, shaft)
    searches = searches_of(questions, start_known=known.start_sps is not None)
    if TURN in questions and not shaft.sensor:
        raise InputProblem("--find turn: the steps of a turn are counted by the index sensor, expected --sensor")
    check_range(args, questions, shaft, known)  # refused before anything is opened
    session = JogSession(
        _port_url(args, drive, shaft), drive, shaft, VisitLog(args.log) if args.log is not None else None
    )
    try:
        board = session.open()
        note(f"board: {board.chip}, sketch {board.sketch}; {drive.words}")
        _ready(args, session, board, facts)
        turn = slow_turn(session, counting=TURN in questions)
        resonant = _scanned(session, known.swing_hz) if args.resonance else None
        if resonant is not None:
            known = replace(known, bands=tuple((band.low_sps, band.high_sps) for band in resonant))
        if len(searches) > len(set(questions) - {TURN}):
            note("no start is known that holds: the fastest start is found first")
        found = _search_all(args, session, board, questions, searches, known)
    except LinkFault:
        if args.log is not None and args.log.exists():
            note(f"what was said is in {args.log}; coilbench board --replay {args.log} shows it")
        raise
    finally:
        session.close()
    result = result_object(board, args, session, turn, found, resonant or [])
    if args.save:
        saved = facts.stages.get("jog")
        figures = saved_figures(figures_of(saved, drive), session, found, args.acceleration, resonant)
        MotorFacts.put(args, "jog", with_figures(saved, drive, figures))
        note(f"kept with {args.motor}, found with: {drive.words}")
    if args.json:
        print_json(result)
    else:
        show(result, found, resonant or [])
    return 0


def _drive(args: argparse.Namespace, facts: MotorFacts) -> Drive:
    """As given, else as the bin knows the motor's connection, else a driver in full steps."""
    if args.microsteps is not None and not 1 <= args.microsteps <= 256:
        raise InputProblem(f"--microsteps {args.microsteps}: expected 1 to 256")
    kind: Kind = args.drive or likely_kind(facts.stages)
    if kind != "driver":
        if args.microsteps not in (None, 1):
            raise InputProblem(f"--microsteps {args.microsteps}: coil lines make none, expected --form")
        return Drive(kind, 1, args.form)
    return Drive(kind, args.microsteps or facts.stage("driver").get("microsteps") or 1)


def _shaft(args: argparse.Namespace, facts: MotorFacts) -> Shaft:
    """As given, else as the bin knows it from the last jog or the step angle, else common practice."""
    last = facts.stage("jog").get("shaft") or {}
    degree = facts.step_angle_degree
    steps = args.steps_per_turn or last.get("steps_per_turn") or (round(360 / degree) if degree else _STEPS_PER_TURN)
    if args.steps_per_turn is not None:
        steps = args.steps_per_turn
    gear = args.gear if args.gear is not None else last.get("gear") or 1.0
    return Shaft(steps, gear, args.flag or last.get("flag_on") or "output", args.sensor)


def _port_url(args: argparse.Namespace, drive: Drive, shaft: Shaft) -> str:
    """A virtual port is told how the driver is set and where the flag sits."""
    url: str = args.port
    if url.startswith("virtual://"):
        gear = shaft.gear if shaft.flag_on == "output" else 1.0
        for name, value, usual in (("microsteps", drive.microsteps, 1), ("gear", gear, 1.0)):
            if value != usual and f"{name}=" not in url:
                url += f"{'&' if '?' in url else '?'}{name}={value:g}"
    return url


class VisitLog:
    """One file for the whole visit: a board that was unplugged and comes back is written on."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._log: ConversationLog | None = None

    def __call__(self) -> ConversationLog:
        log = ConversationLog(self._path, more=self._log is not None)
        self._log = log
        return log


def _ready(args: argparse.Namespace, session: JogSession, board: BoardFound, facts: MotorFacts) -> None:
    virtual = args.port.startswith("virtual://")
    wiring: list[str] = []
    cautions: tuple[str, ...] = ()
    kind = session.drive.kind
    if unset := no_current_words(kind, facts.stages):
        cautions = (unset,)
    if kind == "driver":
        cautions += driver_cautions(facts.stages)
    else:
        connection = facts.stage("connection")
        wiring = coil_wiring(
            board.pins, kind, coil_lines(kind, facts.stages), ascii=True, sensor=session.shaft.sensor
        )
        cautions += coil_cautions(kind, connection.get("current_ampere"), connection.get("resistance_ohm"))
    make_ready(session, wiring, cautions, virtual=virtual, ask=not (virtual or args.yes))


def _known(facts: MotorFacts, drive: Drive, shaft: Shaft) -> Known:
    """What the bin knows of the motor on this drive."""
    figures, ratings = figures_of(facts.stages.get("jog"), drive), facts.stage("ratings")
    swing_hz = swing_from_facts(
        ratings.get("holding_torque_newton_metre"), ratings.get("inertia_kilogram_metre2"), shaft.steps_per_turn
    )
    bands = tuple((float(low), float(high)) for low, high in figures["resonance_bands_sps"])
    return Known(figures["start_rate_sps"], figures["run_rate_sps"], bands, swing_hz)


def _scanned(session: JogSession, swing_hz: float | None) -> list[Band]:
    """Low rates tried one by one, those that skipped again."""
    plan, answers = ScanPlan(session.shaft, swing_hz=swing_hz), list[tuple[Trial, Outcome]]()
    while (trial := next_scan_trial(plan, answers)) is not None:
        to_go = sum(rate >= trial.tested for rate in plan.rates_sps)
        answers.append((trial, made(session, trial, len(answers), "steps/s", to_go)))
    return scan_bands(answers)


def _search_all(
    args: argparse.Namespace,
    session: JogSession,
    board: BoardFound,
    questions: list[str],
    searches: list[Searched],
    known: Known,
) -> dict[str, SearchSummary]:
    found: dict[str, SearchSummary] = {}
    for question in searches:
        first = question == next(word for word in questions if word != TURN)
        plan = plan_of(args, question, first, session.shaft, board.highest_sps, known)
        state = begin(plan)
        while isinstance(trial := next_trial(state), Trial):
            to_go = moves_to_go(summary(state), plan)
            if why := why_so_fast(state, trial):
                note(why)
            state = record(state, trial, made(session, trial, len(state.answers), state.plan.unit, to_go))
        if args.prove and question == searches[-1]:
            state = _proved(args.prove, session, state)
        found[question] = summary(state)
        if question == "start":
            known = replace(known, start_sps=found[question].working_sps)
        elif question == "run":
            known = replace(known, run_sps=found[question].working_sps)
    return found


def _proved(moves: int, session: JogSession, state: SearchState) -> SearchState:
    """Proving moves until ``moves`` in a row were clean or one was not; the working figure may rise on the way."""
    for _ in range(2 * moves):
        now = summary(state)
        if now.working_sps is None or now.proved >= moves:
            break
        trial = proving_trial(state.plan, now.working_sps)
        state = record(state, trial, made(session, trial, len(state.answers), state.plan.unit))
        if state.answers[-1][1].skipped:
            break
    return state
