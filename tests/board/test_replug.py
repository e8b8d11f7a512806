"""Waiting for a board to come back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import pytest
import serial

from coilbench.board.client.client import Helper
from coilbench.board.link.faults import LinkFault, LinkLost, NoAnswer, PortForbidden, PortMissing, WrongDevice
from coilbench.board.link.link import BeginLog, Ports, open_link
from coilbench.board.link.replug import PortInfo, PortMark, mark_of, wait_for_return
from coilbench.board.session.drive import Drive
from coilbench.board.session.jog import JogSession
from coilbench.motion.trials import Shaft


class Clock:
    """Time that passes in ``sleep`` alone."""

    def __init__(self) -> None:
        self.time_s = 0.0

    def now(self) -> float:
        return self.time_s

    def sleep(self, seconds: float) -> None:
        self.time_s += seconds


def opener(faults: list[Exception]) -> Callable[[], str]:
    def open_again() -> str:
        if faults:
            raise faults.pop(0)
        return "open"

    return open_again


def test_it_is_tried_until_it_is_back() -> None:
    clock = Clock()
    faults: list[Exception] = [LinkLost("x"), PortMissing("x"), PortForbidden("x"), NoAnswer("x")]
    assert wait_for_return(opener(faults), 60.0, now=clock.now, sleep=clock.sleep) == "open"
    assert clock.time_s > 0


def test_it_is_not_waited_for_ever() -> None:
    clock = Clock()
    with pytest.raises(PortMissing):
        wait_for_return(opener([PortMissing("x")] * 1000), 5.0, now=clock.now, sleep=clock.sleep)
    assert 5.0 <= clock.time_s < 7.0


def test_another_device_in_its_place_ends_the_wait() -> None:
    clock = Clock()
    with pytest.raises(WrongDevice):
        wait_for_return(opener([PortMissing("x"), WrongDevice("x")]), 60.0, now=clock.now, sleep=clock.sleep)


def test_a_virtual_board_comes_back_as_after_power_up() -> None:
    helper = Helper.open("virtual://bench?clock=free")
    helper.link.port.close()
    with pytest.raises(LinkLost):
        helper.state()
    with wait_for_return(lambda: Helper.open("virtual://bench?clock=free")) as again:
        assert again.state().position == 0


@dataclass
class Port:
    """A serial port as a system lists it."""

    device: str
    location: str | None = "1-1"
    serial_number: str | None = None
    vid: int | None = 0x1A86
    pid: int | None = 0x7523
    product: str | None = "USB Serial"


BUILT_IN = Port("/dev/ttyS0", None, None, None, None, None)


def marked(own: Port, *others: Port) -> PortMark:
    mark = mark_of(own.device, [BUILT_IN, own, *others])
    assert mark is not None
    return mark


def test_what_is_not_on_usb_has_no_mark() -> None:
    assert mark_of("/dev/ttyS0", [BUILT_IN]) is None
    assert mark_of("/dev/ttyUSB7", [BUILT_IN]) is None


def test_a_serial_number_tells_it_anywhere() -> None:
    own, other = Port("/dev/ttyACM0", "1-1", "A1"), Port("/dev/ttyACM1", "1-2", "B2")
    mark = marked(own, other)
    # The two have changed places, names and all.
    assert mark.find([replace(other, device="/dev/ttyACM0"), replace(own, device="/dev/ttyACM1")]) == "/dev/ttyACM1"
    assert mark.find([replace(own, device="/dev/ttyACM2", location="3-1"), other]) == "/dev/ttyACM2"
    with pytest.raises(PortMissing, match="not back"):
        mark.find([replace(other, device="/dev/ttyACM0", location="1-1"), BUILT_IN])


def test_without_a_serial_number_its_socket_tells_it() -> None:
    own, other = Port("/dev/ttyUSB0", "1-1"), Port("/dev/ttyUSB1", "1-2")
    mark = marked(own, other)
    assert mark.find([other, replace(own, device="/dev/ttyUSB2")]) == "/dev/ttyUSB2"
    # In its socket, whatever else came along.
    assert mark.find([Port("/dev/ttyUSB5", "1-3"), other, replace(own, device="/dev/ttyUSB2")]) == "/dev/ttyUSB2"


def test_the_only_new_one_of_its_kind_is_taken_for_it() -> None:
    own, other = Port("/dev/ttyUSB0", "1-1"), Port("/dev/ttyUSB1", "1-2")
    mark = marked(own, other)
    assert mark.find([other, Port("/dev/ttyUSB0", "1-4")]) == "/dev/ttyUSB0"
    unlike = [Port("/dev/ttyUSB0", "1-4", pid=0x6001), Port("/dev/ttyUSB2", "1-5", product="Camera")]
    with pytest.raises(PortMissing):  # the board that stood beside it all the while is not it
        mark.find([other, *unlike])


def test_boards_alike_are_told_in_words_not_guessed() -> None:
    mark = marked(Port("/dev/ttyUSB0", "1-1"))
    with pytest.raises(LinkFault, match="ttyUSB1 or /dev/ttyUSB2: they are alike") as caught:
        mark.find([Port("/dev/ttyUSB1", "1-3"), Port("/dev/ttyUSB2", "1-4")])
    assert "socket it was in" in caught.value.remedy and "\n" not in str(caught.value)
    # Cheap adapters share one serial number: no better than none.
    same = marked(Port("/dev/ttyUSB0", "1-1", "0001"), Port("/dev/ttyUSB1", "1-2", "0001"))
    back = [Port("/dev/ttyUSB1", "1-2", "0001"), Port("/dev/ttyUSB2", "1-1", "0001")]
    assert same.find(back) == "/dev/ttyUSB2"
    with pytest.raises(LinkFault, match="alike"):
        same.find([Port("/dev/ttyUSB3", "1-3", "0001"), Port("/dev/ttyUSB4", "1-4", "0001")])


class Sockets:
    """A computer with boards in its sockets: ports open virtual boards."""

    def __init__(self, *plugged: Port) -> None:
        self.plugged: list[PortInfo] = list(plugged)
        self.opened: list[str] = []
        self.ports = Ports(self._open, lambda: list(self.plugged))

    def _open(self, name: str) -> Any:
        if not any(port.device == name for port in self.plugged):
            raise PortMissing(f"there is no port {name}")
        self.opened.append(name)
        return serial.serial_for_url("virtual://bench?clock=free")


def test_a_port_that_is_gone_is_followed_to_where_its_board_went() -> None:
    sockets = Sockets(Port("/dev/ttyUSB0"))
    open_link("/dev/ttyUSB0", ports=sockets.ports).close()
    sockets.plugged = []
    with pytest.raises(PortMissing):
        open_link("/dev/ttyUSB0", ports=sockets.ports)
    sockets.plugged = [Port("/dev/ttyUSB1")]
    link = open_link("/dev/ttyUSB0", ports=sockets.ports)
    assert link.name == "/dev/ttyUSB1"
    # A name that was never open is not made up for.
    with pytest.raises(PortMissing):
        open_link("/dev/ttyUSB5", ports=sockets.ports)


def test_a_name_chosen_anew_is_what_is_on_it_now() -> None:
    sockets = Sockets(Port("/dev/ttyUSB0", "1-1", "A1"))
    open_link("/dev/ttyUSB0", ports=sockets.ports).close()
    sockets.plugged = [Port("/dev/ttyUSB0", "1-2", "B2"), Port("/dev/ttyUSB1", "1-1", "A1")]
    assert open_link("/dev/ttyUSB0", ports=sockets.ports).name == "/dev/ttyUSB0"


def test_a_session_goes_on_with_its_own_board_and_moves_nothing() -> None:
    """Its old name has gone to another board meanwhile."""
    sockets = Sockets(Port("/dev/ttyACM0", "1-1", "A1"), Port("/dev/ttyACM1", "1-2", "B2"))
    helpers: list[Helper] = []

    def opener(url: str, log: BeginLog | None, was: PortMark | None) -> Helper:
        helpers.append(Helper.open(url, log, was, sockets.ports))
        return helpers[-1]

    session = JogSession("/dev/ttyACM0", Drive(), Shaft(200), opener=opener)
    session.open()
    sockets.plugged = [Port("/dev/ttyACM0", "1-2", "B2")]
    with pytest.raises(PortMissing, match="not back"):
        session.open()
    sockets.plugged.append(Port("/dev/ttyACM1", "1-1", "A1"))
    session.open()
    assert sockets.opened == ["/dev/ttyACM0", "/dev/ttyACM1"]
    state = helpers[-1].state()
    assert (state.state, state.position, state.outputs_on) == ("idle", 0, False)
    session.close()
