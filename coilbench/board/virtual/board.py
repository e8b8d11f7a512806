"""A virtual helper board: speaks sketches/PROTOCOL.md exactly and turns a virtual motor."""

from __future__ import annotations

import random

from coilbench.board.link.frames import Bare, Broken, Decoder, Frame, Item, encode_fitting
from coilbench.board.link.messages import PROTOCOL
from coilbench.board.link.wire import Wire
from coilbench.board.virtual.converter import Converter
from coilbench.board.virtual.jig import VirtualJig
from coilbench.board.virtual.motion import BoardMotion
from coilbench.board.virtual.refusals import refusal_of
from coilbench.board.virtual.running_motor import RunningMotor
from coilbench.board.virtual.verbs import CHIP, SKETCH_VERSION, Answer, Late, Verbs

_STOP_AT = 65535


class VirtualBoard:
    """``receive`` sends it bytes, ``run`` carries its time on, ``take`` has what came through to the host."""

    def __init__(self, motor: RunningMotor, *, seed: int = 1) -> None:
        self._rng = random.Random(seed)
        self._from_host, self._to_host = Wire(), Wire()
        self.motion = BoardMotion(motor)
        self.input_mv: dict[int, float] = {}  # what lies at each analogue input
        self.converter = Converter()
        self.jig = VirtualJig()  # nothing on its clips
        self._restart("power")

    def receive(self, data: bytes) -> None:
        """Bytes from the host, on the line from the board's present time on."""
        self._from_host.put(data, self.motion.now_s)

    def run(self, until_s: float) -> None:
        """Carry time on to ``until_s`` seconds since the board was made."""
        while (line_s := self._from_host.next_line_s) <= until_s:
            self._carry_on(line_s)
        self._carry_on(until_s)

    def _carry_on(self, until_s: float) -> None:
        for word, fields in self.motion.run(until_s):
            self._tell(word, fields)
        for item in self._decoder.feed(self._from_host.take(max(until_s, self.motion.now_s))):
            self._take_item(item)

    def drain(self) -> None:
        """Carry time on until the board has heard everything that was sent to it."""
        self.run(max(self._from_host.empty_s, self.motion.now_s))

    def take(self) -> bytes:
        """The bytes that have come through to the host since the last call."""
        return self._to_host.take(self.motion.now_s)

    def restart(self, why: str) -> None:
        """A reset, as by the button (``pin``), the supply (``power``) or the watchdog."""
        for word, fields in self.motion.cut("reset"):
            self._tell(word, fields)
        self._restart(why)

    def _restart(self, why: str) -> None:
        self.motion = self.motion.successor(remembers=why != "power")
        self._decoder = Decoder()
        self._next = self._rng.randint(1, 65535)
        self._kept: tuple[Frame, bytes] | None = None
        self._told = 0
        self._counts = dict.fromkeys(("good", "bad", "long", "order", "again", "lost"), 0)
        self._verbs = Verbs(
            self.motion,
            self._rng,
            self._counts,
            lambda: self._next,
            self._tell,
            self.input_mv,
            self.converter,
            self.jig,
        )
        self._tell(
            "hello",
            {
                "protocol": PROTOCOL,
                "sketch": SKETCH_VERSION,
                "chip": CHIP,
                "why": why,
                "next": self._next,
            },
        )

    # Numbers and refusals

    def _take_item(self, item: Item) -> None:
        if isinstance(item, Bare):
            fields = self._verbs.stop() if item.word == "stop" else self._verbs.report()
            self._send(Frame("yes", 0, item.word, fields))
        elif isinstance(item, Broken):
            self._count("long" if item.flaw == "long" else "bad")
            self._send(Frame("no", 0, item.flaw))
        elif item.kind != "ask":
            self._count("bad")
            self._send(Frame("no", 0, "form"))
        else:
            self._take_numbered(item)

    def _take_numbered(self, frame: Frame) -> None:
        if frame.number == self._next:
            self.motion.sign_of_life()
            self._next = self._next % 65535 + 1
            self._count("good")
            answer = self._answer(frame)
            line = encode_fitting(answer)
            self._kept = (frame, line)
            self._put(line)
            if answer.kind == "yes" and frame.word == "reset":
                self.restart("asked")
        elif self._kept is not None and frame.number == self._kept[0].number:
            if _same(frame, self._kept[0]):
                self._count("again")
                self._put(self._kept[1])
            else:
                self._count("order")
                self._send(Frame("no", frame.number, "reused"))
        else:
            self._count("order")
            self._send(Frame("no", frame.number, "order", {"next": self._next}))

    def _answer(self, frame: Frame) -> Frame:
        verbs = self._verbs
        refused = refusal_of(frame, self.motion, greeted=verbs.greeted, highest_rate_sps=verbs.highest_rate_sps)
        if refused is not None:
            return Frame("no", frame.number, *refused)
        try:
            return Frame("yes", frame.number, frame.word, verbs.answer(frame))
        except Late as refusal:
            return Frame("no", frame.number, refusal.word, refusal.fields)

    # The line to the host

    def _tell(self, word: str, fields: Answer) -> None:
        self._told = self._told % 65535 + 1
        self._send(Frame("tell", self._told, word, fields))

    def _send(self, frame: Frame) -> None:
        self._put(encode_fitting(frame))

    def _put(self, line: bytes) -> None:
        self._to_host.put(line + b"\n", self.motion.now_s)

    def _count(self, name: str) -> None:
        self._counts[name] = min(self._counts[name] + 1, _STOP_AT)


def _same(frame: Frame, kept: Frame) -> bool:
    """Same check, that is same text: the fields' order counts."""
    return frame == kept and list(frame.fields) == list(kept.fields)
