"""Waiting for a board to come back."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from coilbench.board.client import Helper
from coilbench.board.faults import LinkLost, NoAnswer, PortForbidden, PortMissing, WrongDevice
from coilbench.board.replug import wait_for_return


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
