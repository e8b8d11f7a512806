"""``vref --live``: the trimmer followed on plain lines, a line whenever there is something else to do."""

from __future__ import annotations

import argparse
import sys
import threading
from queue import Empty, SimpleQueue

from coilbench.cli.dialogue import read_line, say
from coilbench.cli.output import note, print_json
from coilbench.errors import InputProblem
from coilbench.stages.at_bench import note as remember
from coilbench.stages.driver.answer import DriverAnswer
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.driver.trimmer import PLAIN, WIRING, LiveTrimmer, Needle
from coilbench.stages.driver.trimmer_board import TrimmerBoard, usual_port

_MOVED = 0.04  # of the voltage: less is no news
_LEAST_S = 0.5  # between two lines that say the same to do


def live(stage: DriverStage, answer: DriverAnswer, args: argparse.Namespace) -> int:
    """Follow it until it has stood in the band for two seconds; return the exit status, 3 where it never did."""
    port = args.port or usual_port(stage.desk)
    if not port:
        raise InputProblem("--live without a port", remedy="give the helper board's: --port /dev/ttyACM0")
    trimmer = LiveTrimmer(answer)
    board = TrimmerBoard(port, args.pin)
    try:
        board.open(trimmer)
        if not args.json:
            say(answer.headline)
        _tell_wiring(stage, trimmer, board, as_json=args.json)
        followed = _Followed(stage, trimmer, board, args)
        needle = followed.follow()
    finally:
        board.close()
    if not board.is_virtual and (said := remember(stage.desk, board.own)):
        note(said)
    if args.json:
        print_json(_result(trimmer, board, needle))
    elif needle is not None and needle.done:
        say(f"set: VREF {needle.shown[0]}, {needle.shown[1]}; {trimmer.accuracy(needle)}")
    return 0 if needle is not None and needle.done else 3


def _tell_wiring(stage: DriverStage, trimmer: LiveTrimmer, board: TrimmerBoard, *, as_json: bool) -> None:
    out = note if as_json else say
    for line in WIRING:
        out(line.format(pin=board.pin))
    if trimmer.needs_motor_supply:
        out("this chip makes its reference from the motor supply: switch that on, the motor unplugged")
    out(f"caution: {stage.CAUTION}")
    if sys.stdin.isatty():
        out("Type what your meter shows at the same pin, such as 0.412, to set the board's scale; q ends.")


def _result(trimmer: LiveTrimmer, board: TrimmerBoard, needle: Needle | None) -> dict[str, object]:
    low, high = trimmer.band_volt
    found: dict[str, object] = {
        "target_volt": round(trimmer.target_volt, 6),
        "band_volt": [round(low, 6), round(high, 6)],
    }
    if needle is None:
        return found | {"vref_volt": None, "done": False}
    return found | {
        "vref_volt": round(needle.volt, 5),
        "peak_amp": round(needle.peak_ampere, 5),
        "turn": PLAIN[needle.turn],
        "error_percent": round(100 * needle.error_share, 2),
        "bandgap_volt": board.bandgap_volt,
        "done": needle.done,
    }


class _Followed:
    """The loop: readings of the board and lines of the person, whichever comes."""

    def __init__(
        self, stage: DriverStage, trimmer: LiveTrimmer, board: TrimmerBoard, args: argparse.Namespace
    ) -> None:
        self._stage, self._trimmer, self._board = stage, trimmer, board
        self._seconds, self._quiet = args.seconds, args.json
        self._lines: SimpleQueue[str | None] = SimpleQueue()
        self._said: Needle | None = None
        self._said_s = float("-inf")
        threading.Thread(target=self._wait_for_lines, daemon=True).start()

    def _wait_for_lines(self) -> None:
        while (line := read_line()) is not None:
            self._lines.put(line)

    def follow(self) -> Needle | None:
        """Until it is done, the time is over or the person ends it; where it stood last."""
        began_s, needle = self._board.now(), None
        while self._seconds is None or self._board.now() - began_s < self._seconds:
            needle = self._trimmer.feed(self._board.read())
            self._show(needle)
            if needle.done or not self._take_lines():
                break
            self._board.turn_virtual(needle, self._trimmer)
        return needle

    def _show(self, needle: Needle) -> None:
        said, now_s = self._said, self._board.now()
        news = said is None or needle.turn != said.turn
        moved = said is not None and abs(needle.volt - said.volt) > _MOVED * self._trimmer.target_volt
        if self._quiet or not (news or needle.rings or (moved and now_s - self._said_s >= _LEAST_S)):
            return
        self._said, self._said_s = needle, now_s
        volt, ampere = needle.shown
        bell = "\a" if needle.rings and sys.stdout.isatty() else ""
        say(f"{volt}  {ampere}  {PLAIN[needle.turn]}: {needle.says}")
        print(bell, end="", flush=True)

    def _take_lines(self) -> bool:
        while True:
            try:
                line = self._lines.get_nowait()
            except Empty:
                return True
            if line is None or line.lower() in ("q", "quit", "exit"):
                return False
            if line:
                self._calibrate(line)

    def _calibrate(self, line: str) -> None:
        try:
            note(self._board.rescale(self._trimmer, line))
        except InputProblem as problem:
            note(str(problem))
