"""The helper board as the bench sees it: verbs with units, over a link that may lose, break and repeat."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

from coilbench.board.client.orders import (
    AnalogueReading,
    Bandgap,
    BoardState,
    Identity,
    IndexState,
    MotionEnd,
    MoveOrder,
    RateLimits,
    TripOrder,
)
from coilbench.board.link.answers import (
    PINS,
    checked_pins,
    checked_rates,
    checked_rise,
    longest_s,
    next_number,
    still_moving,
    whole,
    word,
)
from coilbench.board.link.faults import BoardRestarted, LinkFault, Refused, no_answer, wrong_device, wrong_version
from coilbench.board.link.frames import LARGEST_NUMBER, STOP_BYTE, Broken, Frame, Item, Value
from coilbench.board.link.link import SYSTEM, BeginLog, Link, Ports, open_link
from coilbench.board.link.messages import PROTOCOL
from coilbench.board.link.replug import PortMark

HELLO_WAIT_S = 3.0
ANSWER_WAIT_S = 0.25
TRIES = 16
CLIP_NAMES = "abcdefgh"
PAIR_SAMPLES, RISES = 64, 16
BEAT_S = 0.15
_REPORT_TRIES = 6
_CLOCKS_DIFFER = 1.1  # a board with a ceramic resonator keeps time to about 1 %, a bad one to a few
_END_WAIT_S = 5.0  # more than all tries of one question take

Watcher = Callable[[Frame], None]


class Helper:
    """An open, greeted board. All verbs are for one thread; ``request_stop`` may be called from any."""

    def __init__(self, link: Link, protocol: int = PROTOCOL) -> None:
        self.link = link
        self._protocol = protocol
        self.identity = Identity(0, 0, "", frozenset())
        self.rates = RateLimits(0, 0, 0, 0)
        self._next = 0
        self._watcher: Watcher | None = None
        self._end: MotionEnd | None = None
        self._stop_wanted = threading.Event()
        self._greeting = False
        self._count_lost = False

    @classmethod
    def open(
        cls, url: str, log: Path | BeginLog | None = None, was: PortMark | None = None, ports: Ports = SYSTEM
    ) -> Self:
        """Open the port, wait for the board's hello and greet it; ``was`` as for ``open_link``. Raises LinkFault."""
        helper = cls(open_link(url, log, was, ports))
        try:
            helper.greet()
        except BaseException:
            helper.close()
            raise
        return helper

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Stop whatever moves and let the port go; never raises."""
        with contextlib.suppress(LinkFault):
            self.link.send_line(STOP_BYTE)
            self.link.send_line(b"stop")
        self.link.close()

    # First words

    def greet(self) -> None:
        """Wait for the hello (or ask who is there), agree on the protocol, learn the limits. Raises LinkFault."""
        self._greeting = True
        try:
            self._next = self._first_number()
            self._hello()
        finally:
            self._greeting = False

    def _hello(self) -> None:
        try:
            fields = self.ask("hello", protocol=self._protocol)
        except Refused as refusal:
            if refusal.word != "range":
                raise
            raise wrong_version(self.link.name, whole(refusal.fields, "high"), self._protocol) from refusal
        can = frozenset(str(fields.get("can", "")).split(","))
        self.identity = Identity(whole(fields, "protocol"), whole(fields, "sketch"), word(fields, "chip"), can)
        self._learn_limits()

    def _learn_limits(self) -> None:
        rates = self.ask("limits", of="rates")
        self.rates = RateLimits(
            *checked_rates(*(whole(rates, name) for name in ("lowest", "highest", "gain", "steps")))
        )

    def _first_number(self) -> int:
        number = self._number_within(HELLO_WAIT_S)
        return self._asked_number() if number is None else number

    def _asked_number(self) -> int:
        """The number the board expects, from its report: that needs no number of ours."""
        for _ in range(_REPORT_TRIES):
            self.link.send_line(b"")
            self.link.send_line(b"report")
            number = self._number_within(2 * ANSWER_WAIT_S)
            if number is not None:
                return number
        raise wrong_device(self.link.name, self.link.seen) if self.link.seen else no_answer(self.link.name)

    def _number_within(self, wait_s: float) -> int | None:
        until_s = self.link.now() + wait_s
        while (left_s := until_s - self.link.now()) > 0:
            item = self.link.receive(left_s)
            if isinstance(item, Frame) and isinstance(item.fields.get("next"), int):
                protocol = item.fields.get("protocol", self._protocol)
                if protocol != self._protocol:
                    raise wrong_version(self.link.name, whole(item.fields, "protocol"), self._protocol)
                return next_number(item.fields)
        return None

    # One question, one answer

    def ask(self, verb: str, **fields: Value) -> dict[str, Value]:
        """Ask and return the answer's fields; sent again until answered, run by the board once at most.

        Raises Refused when the board says no, BoardRestarted when it lost its memory meanwhile, LinkFault.
        """
        if self._count_lost:
            self._next, self._count_lost = self._asked_number(), False
        frame = Frame("ask", self._next, verb, dict(fields))
        for attempt in range(TRIES):
            if attempt:
                self.link.send_line(b"")  # ends a line that noise left open
            self.link.send(frame)
            answer = self._answer(frame.number, verb)
            if answer is None:
                continue
            if answer.kind == "no" and answer.word == "order":
                self._next = next_number(answer.fields)
                raise BoardRestarted("its hello was lost")
            self._next = self._next % LARGEST_NUMBER + 1
            if answer.kind == "no":
                raise Refused(verb, answer.word, answer.fields)
            return answer.fields
        # Whether the board took this one isn't known: it is reported as failed, and the count asked for again.
        self._count_lost = True
        raise no_answer(self.link.name)

    def _answer(self, number: int, verb: str) -> Frame | None:
        until_s = self.link.now() + ANSWER_WAIT_S
        while (left_s := until_s - self.link.now()) > 0:
            item = self.link.receive(left_s)
            if item is None:
                return None
            if isinstance(item, Frame) and item.kind in ("yes", "no"):
                if item.number == number and (item.kind == "no" or item.word == verb):
                    return item
                if item.kind == "no" and item.number == 0:
                    return None  # came broken: send it again at once
            else:
                self._event(item)
        return None

    # Events

    def _event(self, item: Item) -> None:
        if isinstance(item, Broken) or not isinstance(item, Frame) or item.kind != "tell":
            return
        if item.word == "hello":
            self._restarted(item)
            return
        if item.word == "stop":
            self._end = MotionEnd(word(item.fields, "why"), whole(item.fields, "pos"), whole(item.fields, "left"))
        if self._watcher:
            self._watcher(item)

    def _restarted(self, hello: Frame) -> None:
        self._next = next_number(hello.fields)
        if not self._greeting:
            raise BoardRestarted(str(hello.fields.get("why")))

    # Verbs

    def pin_map(self) -> dict[str, dict[str, Value]]:
        """The board's pins by group: driver, coils, sense."""
        return {group: checked_pins(group, self.ask("pins", of=group)) for group in PINS}

    def state(self) -> BoardState:
        """What the board is doing."""
        fields = self.ask("beat")
        return BoardState(
            word(fields, "state"), whole(fields, "pos"), whole(fields, "rate"), whole(fields, "out") == 1
        )

    def switch_outputs(self, on: bool) -> None:
        """Driver enabled, or the coil lines in use, or all off."""
        self.ask("outputs", on=int(on))

    def drive_by_driver(self) -> None:
        """Steps go to a step/direction driver."""
        self.ask("drive", by="driver")
        self._learn_limits()

    def drive_by_coils(self, form: str = "full") -> None:
        """Steps go to four coil lines, in ``wave``, ``full`` or ``half`` steps."""
        self.ask("drive", by="coils", form=form)
        self._learn_limits()

    def set_idle(self, after_s: float) -> None:
        """Outputs go off this long after the last motion."""
        self.ask("idle", ms=round(after_s * 1000))

    def move(self, order: MoveOrder, watcher: Watcher | None = None) -> MotionEnd:
        """Make a move and return when it has ended, for whatever reason."""
        return self._motion("move", order.fields(self.rates), watcher)

    def trip(self, order: TripOrder, watcher: Watcher | None = None) -> MotionEnd:
        """Go out and back and return when that has ended, for whatever reason."""
        return self._motion("trip", order.fields(self.rates), watcher)

    def pace(self, steps: int, each_s: float, watcher: Watcher | None = None) -> MotionEnd:
        """Make one step after the other, so far apart, and return when that has ended, for whatever reason."""
        return self._motion("pace", {"steps": steps, "each": round(1000 * each_s)}, watcher)

    def coil_pattern(self, pattern: int, duration_s: float) -> None:
        """Switch coil lines on (bits: 1 to 4 = A, B, A', B') for at most 2 s."""
        self.ask("coil", pattern=pattern, ms=round(duration_s * 1000))

    def read_input(self, channel: int, samples: int = 64, against: str = "supply") -> AnalogueReading:
        """An analogue input, so many samples against the board's ``supply`` or its ``bandgap`` reference of 1.1 V.

        Takes up to 40 ms; not while anything moves, against the bandgap only with the outputs off. Raises Refused.
        """
        fields = self.ask("read", channel=channel, samples=samples, against=against)
        raw, supply_mv = whole(fields, "raw"), whole(fields, "supply")
        return AnalogueReading(raw / (1024 * samples), whole(fields, "mv") / 1000, supply_mv / 1000)

    def clip_pins(self) -> tuple[int, ...]:
        """The digital pins of the clips, clip 1 first; none on a board whose sketch has no clips."""
        try:
            fields = self.ask("pins", of="clips")
        except Refused:  # an older sketch
            return ()
        return tuple(whole(fields, name) for name in CLIP_NAMES[: len(fields)])

    def lend_to_clips(self) -> None:
        """From here on the clips' pins are inputs but for the pair that is measured; the outputs must be off."""
        self.ask("drive", by="clips")

    def measure_pair(self, high: int, low: int, clips: int) -> tuple[float, ...]:
        """Drive clip ``high`` against ``low``, counted from 0: the voltage of each of so many clips as a share of the
        board's supply.

        Raises Refused: ``volt`` and ``wire`` where the board wouldn't drive, for what is on the clips.
        """
        fields = self.ask("pair", high=high + 1, low=low + 1)
        return tuple(whole(fields, name) / (1024 * PAIR_SAMPLES) for name in CLIP_NAMES[:clips])

    def watch_rise(self, high: int, low: int, see: int, cycles: int, hold: int | None = None) -> tuple[int, float]:
        """Drive clip ``high`` against ``low``, counted from 0, and look at ``see`` so many of its cycles later.

        Returns after how many it was, and the voltage as a share of the board's supply. ``hold`` is held low, too.

        Raises Refused as ``measure_pair`` does.
        """
        held = {} if hold is None else {"hold": hold + 1}
        fields = self.ask("rise", high=high + 1, low=low + 1, see=see + 1, at=cycles, **held)
        return checked_rise(cycles, whole(fields, "at")), whole(fields, "raw") / (1024 * RISES)

    def supply_volt(self) -> float:
        """The board's own supply, to about 10 %; finer once a meter has told."""
        return whole(self.ask("supply"), "mv") / 1000

    def bandgap(self) -> Bandgap | None:
        """What the board takes its reference for; None on a board whose sketch can't keep what a meter tells."""
        try:
            return self._bandgap()
        except Refused as refusal:
            if refusal.word != "verb":
                raise
            return None

    def keep_bandgap(self, volt: float) -> Bandgap:
        """Have the board take its reference for so much, over resets and without supply. Raises Refused."""
        return self._bandgap(bandgap=round(volt * 1000))

    def _bandgap(self, **told: Value) -> Bandgap:
        fields = self.ask("scale", **told)
        return Bandgap(whole(fields, "bandgap") / 1000, whole(fields, "kept") == 1)

    def index(self) -> IndexState:
        """What the index sensor has seen since ``zero``."""
        fields = self.ask("index")
        return IndexState(*(whole(fields, name) for name in ("level", "count", "fall", "rise")))

    def stop(self) -> None:
        """No more steps, outputs off, now."""
        self.ask("stop")

    def request_stop(self) -> None:
        """Stop from any thread: sent at once, and again by whoever follows the motion until it has stopped."""
        self._stop_wanted.set()
        self.link.send_line(STOP_BYTE)
        self.link.send_line(b"stop")

    # Following a motion

    def _motion(self, verb: str, fields: dict[str, Value], watcher: Watcher | None) -> MotionEnd:
        self._stop_wanted.clear()
        self._end, self._watcher = None, watcher
        try:
            self.ask(verb, **fields)
            return self._follow(longest_s(fields) * _CLOCKS_DIFFER + _END_WAIT_S)
        except BaseException:
            self._try_to_stop()
            raise
        finally:
            self._watcher = None

    def _follow(self, longest_s: float) -> MotionEnd:
        """Beat until the motion has ended. Raises LinkFault when it doesn't, or a stop stops nothing."""
        beat_due_s = self.link.now() + BEAT_S
        over_s = self.link.now() + longest_s
        stopping = False
        while self._end is None:
            if self._stop_wanted.is_set() and not stopping:
                stopping, over_s = True, min(over_s, self.link.now() + _END_WAIT_S)
            if self.link.now() > over_s:
                raise still_moving(self.link.name)
            item = self.link.receive(max(min(beat_due_s - self.link.now(), BEAT_S), 0.0))
            if item is not None:
                self._event(item)
            if self._end is None and self.link.now() >= beat_due_s:
                beat_due_s = self.link.now() + BEAT_S
                self._beat()
        return self._end

    def _beat(self) -> None:
        if self._stop_wanted.is_set():
            self.stop()
        state = self.state()
        if state.state == "idle" and self._end is None:
            # Its stop event was lost on the way.
            why = "stopped" if self._stop_wanted.is_set() else "end" if state.outputs_on else "lost"
            self._end = MotionEnd(why, state.position, 0)

    def _try_to_stop(self) -> None:
        # When this does not get through, the board stops by itself for want of beats.
        with contextlib.suppress(LinkFault):
            self.request_stop()
