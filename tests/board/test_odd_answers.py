"""A board whose lines are whole and say odd things: a fault in words, never another error, never without end."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from coilbench.board.client.client import Helper
from coilbench.board.client.orders import MoveOrder
from coilbench.board.link.faults import LinkFault, Refused
from coilbench.board.link.frames import Decoder, Frame, Value, encode
from coilbench.board.link.link import Link, open_port
from coilbench.board.session.clips import ClipSession
from coilbench.board.session.drive import Drive
from coilbench.board.session.jog import JogSession
from coilbench.board.session.wiring import coil_wiring, driver_wiring
from coilbench.errors import CoilbenchError
from coilbench.motion.trials import Shaft, Trial
from coilbench.rating.coil_lines import CoilLines
from coilbench.winding.readings.inductance import NotTimed

Change = Callable[[Frame], "Frame | None"]
TRIAL = Trial("start", 400.0, 40, 400.0, 400.0, 4000.0, 200.0, 0.1)


class OddPort:
    """A virtual board's port on which each of the board's frames is changed, or swallowed."""

    def __init__(self, change: Change) -> None:
        self._port = open_port("virtual://bench?clock=free")
        self._change, self._decoder = change, Decoder()
        self._ready = bytearray()
        self.timeout: float | None = 0.0

    def monotonic(self) -> float:
        return float(self._port.monotonic())

    @property
    def is_open(self) -> bool:
        return bool(self._port.is_open)

    @property
    def in_waiting(self) -> int:
        return len(self._ready)

    def read(self, size: int = 1) -> bytes:
        if not self._ready:
            self._port.timeout = self.timeout
            data = self._port.read(1)
            data += self._port.read(self._port.in_waiting) if data else b""
            for item in self._decoder.feed(data):
                changed = self._change(item) if isinstance(item, Frame) else None
                self._ready += b"" if changed is None else encode(changed) + b"\n"
        data = bytes(self._ready[:size])
        del self._ready[:size]
        return data

    def write(self, data: bytes) -> int:
        return int(self._port.write(data))

    def close(self) -> None:
        self._port.close()


def greeted(change: Change) -> Helper:
    helper = Helper(Link(OddPort(change), "odd"))
    helper.greet()
    return helper


def with_field(kind: str, word: str, name: str, value: Value | None) -> Change:
    """Frames of this kind and word say ``value`` for a field, or lack it."""

    def change(frame: Frame) -> Frame:
        if (frame.kind, frame.word) != (kind, word) or name not in frame.fields:
            return frame
        fields = {each: said for each, said in frame.fields.items() if each != name}
        return Frame(frame.kind, frame.number, frame.word, fields if value is None else {**fields, name: value})

    return change


def a_visit(change: Change, *, sensor: bool = False) -> None:
    """Everything a jog does with a board; with a sensor its steps are counted, too."""
    shaft = Shaft(200, sensor=sensor)
    session = JogSession("odd", Drive(), shaft, opener=lambda url, log, was: greeted(change))
    try:
        found = session.open()
        driver_wiring(found.pins, ())
        coil_wiring(found.pins, "array", CoilLines((), (), (), ""))
        session.ready()
        if sensor:
            session.turn(lambda state, rate: None)
        session.trial(TRIAL, lambda state, rate: None)
        session.look()
    finally:
        session.close()


FIELDS = [
    *(("yes", "hello", name) for name in ("protocol", "sketch", "chip", "can")),
    *(("yes", "limits", name) for name in ("lowest", "highest", "gain", "steps")),
    *(("yes", "pins", name) for name in ("step", "dir", "enable", "active", "a", "d", "index", "first")),
    *(("yes", "beat", name) for name in ("state", "pos", "rate", "out")),
    *(("yes", "index", name) for name in ("level", "count", "fall", "rise")),
    *(("tell", "stop", name) for name in ("why", "pos", "left")),
    *(("tell", "progress", name) for name in ("state", "pos", "rate")),
    *(("tell", "edge", name) for name in ("pos", "level")),
    *(("tell", "hello", name) for name in ("next", "protocol", "why")),
]


ODD: tuple[Value | None, ...] = (None, "abc", 0, -1, 999_999_999)


@pytest.mark.parametrize("field", FIELDS, ids=".".join)
def test_any_field_may_be_odd(field: tuple[str, str, str]) -> None:
    odd(field, ODD[FIELDS.index(field) % len(ODD)], sensor=field[1] == "edge")


@pytest.mark.long("hostile")
@pytest.mark.parametrize("value", ODD)
@pytest.mark.parametrize("field", FIELDS, ids=".".join)
def test_every_field_may_be_odd_in_every_way(field: tuple[str, str, str], value: Value | None) -> None:
    odd(field, value, sensor=True)


@pytest.mark.parametrize("value", ODD)
@pytest.mark.parametrize(("word", "name"), [("pair", "b"), ("pins", "b"), ("rise", "raw"), ("rise", "at")])
def test_clips_may_be_odd(word: str, name: str, value: Value | None) -> None:
    """What isn't seen to be odd is a measurement like any other, and ends."""
    session = ClipSession("odd", opener=lambda url, log, was: greeted(with_field("yes", word, name, value)))
    try:
        session.open()
        session.ready()
        found = session.measure(["1", "2", "3", "4"], lambda state, pairs: None)
        assert found is not None and len(found.readings) == 6
        found = session.watch_rises(["1", "2", "3", "4"], found)
        assert found is not None and all(isinstance(one, NotTimed) or one.henry > 0 for one in found.inductances)
        assert all(reading.ohm >= 0 for reading in found.readings)
    except CoilbenchError as problem:
        assert problem.happened and len(str(problem)) <= 300
    finally:
        session.close()


def odd(field: tuple[str, str, str], value: Value | None, *, sensor: bool) -> None:
    try:
        a_visit(with_field(*field, value), sensor=sensor)
    except CoilbenchError as problem:
        assert problem.happened and len(str(problem)) <= 300


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        (("yes", "hello", "chip"), None, "lacks the word 'chip'"),
        (("yes", "pins", "active"), None, "lacks the number 'active'"),
        (("yes", "limits", "highest"), "abc", "number 'highest', it says 'abc'"),
        (("yes", "limits", "lowest"), 0, "says it does 0 to"),
        (("yes", "beat", "state"), None, "lacks the word 'state'"),
        (("tell", "stop", "why"), 7, "lacks the word 'why', it says 7"),
    ],
)
def test_what_is_odd_is_named(field: tuple[str, str, str], value: Value | None, said: str) -> None:
    with pytest.raises(LinkFault) as caught:
        a_visit(with_field(*field, value))
    assert said in caught.value.happened and "sketch" in caught.value.remedy


def test_a_refusal_without_its_range() -> None:
    def change(frame: Frame) -> Frame:
        return Frame("no", frame.number, "range", {"at": "protocol", "low": 1}) if frame.word == "hello" else frame

    with pytest.raises(CoilbenchError):
        greeted(lambda frame: change(frame) if frame.kind == "yes" else frame)
    assert "does not take the steps of move" in Refused("move", "range", {"at": "steps", "low": 1}).happened


def never_ends(frame: Frame) -> Frame | None:
    """A board that says it is moving, whatever happens."""
    if (frame.kind, frame.word) == ("tell", "stop"):
        return None
    return with_field("yes", "beat", "state", "moving")(frame)


def test_a_motion_that_never_ends() -> None:
    helper = greeted(never_ends)
    helper.switch_outputs(True)
    with pytest.raises(LinkFault, match="moving still") as caught:
        helper.move(MoveOrder(400, 200, 600, 4000))
    assert "switch off the motor's supply" in caught.value.remedy
    assert helper.link.now() < 60  # of the board's time
    helper.close()


def test_a_stop_that_stops_nothing_is_told_soon() -> None:
    helper = greeted(never_ends)
    helper.switch_outputs(True)
    began_s = helper.link.now()

    def watch(frame: Frame) -> None:
        helper.request_stop()

    with pytest.raises(LinkFault, match="moving still"):
        helper.move(MoveOrder(20_000, 100, 100, 4000), watch)
    assert helper.link.now() - began_s < 20
    helper.close()


@pytest.mark.parametrize("wait", ["abc", -5, 999_999_999])
def test_coils_that_are_to_rest_for_ever(wait: Any) -> None:
    def change(frame: Frame) -> Frame:
        refused = frame.kind == "yes" and frame.word == "outputs" and frame.fields.get("on") == 1
        return Frame("no", frame.number, "duty", {"wait": wait}) if refused else frame

    with pytest.raises(CoilbenchError):
        a_visit(change)
