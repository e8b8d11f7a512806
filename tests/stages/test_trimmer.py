"""The trimmer, live, without a screen: which way to turn, what a voltage means, a slip, and what is refused."""

from __future__ import annotations

import pytest

from coilbench.board.session.voltmeter import PinVolt
from coilbench.errors import InputProblem
from coilbench.stages.desk import scratch_desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.driver.trimmer import DONE_UPDATES, HOLD_UPDATES, LiveTrimmer, Needle
from coilbench.stages.driver.trimmer_board import KEPT, TrimmerBoard

A4988 = {"chip": "A4988", "sense": "R100", "current": "0.8 A"}  # VREF 0.64 V by VREF = 8 x 0.1 ohm x 0.8 A


def live(texts: dict[str, str] | None = None, calibrated: bool = True) -> LiveTrimmer:
    return LiveTrimmer(DriverStage(scratch_desk()).answer(texts or A4988), calibrated)


def pin(volt: float, *, at_top: bool = False) -> PinVolt:
    return PinVolt(volt, 1.1 / 1024, 5.0, at_top)


def turned(trimmer: LiveTrimmer, *volts: float) -> list[str]:
    return [trimmer.feed(pin(volt)).turn for volt in volts]


def test_which_way_to_turn_and_what_it_means_now() -> None:
    trimmer = live()
    assert turned(trimmer, 0.1, 0.3, 0.6, 0.63, 0.65, 0.67, 0.9) == ["up", "up", "up", "hold", "hold", "down", "down"]
    needle = trimmer.feed(pin(0.64))
    assert needle.peak_ampere == pytest.approx(0.8) and needle.shown == ("0.64 V", "0.8 A peak")
    assert needle.place == pytest.approx(0.5) and needle.band == pytest.approx((0.485, 0.515))
    assert trimmer.feed(pin(3.0)).place == 1.0


def test_it_rings_once_and_is_done_when_it_stays() -> None:
    trimmer = live()
    needles = [trimmer.feed(pin(0.64)) for _ in range(DONE_UPDATES + 3)]
    assert [each.rings for each in needles].count(True) == 1 and needles[HOLD_UPDATES - 1].rings
    assert [each.done for each in needles].index(True) == DONE_UPDATES - 1
    trimmer.feed(pin(0.7))
    assert not trimmer.feed(pin(0.64)).done, "it has to stand anew"


def test_a_slip_is_seen_and_told_until_it_is_back() -> None:
    trimmer = live()
    assert turned(trimmer, 0.6, 0.0, 0.001, 0.0, 0.3) == ["up", "slip", "slip", "slip", "up"]
    assert "slipped" in live_after(trimmer, 0.5, 0.0).says
    assert turned(live(), 0.0, 0.01, 0.03, 0.1) == ["up"] * 4, "a trimmer at its low end is where one begins"
    full = live({"chip": "DRV8825", "sense": "R100", "current": "1 A"})  # its trimmer ends at 3.3 V
    assert turned(full, 0.5, 3.3, 3.29, 1.0) == ["hold", "slip", "slip", "down"]


def live_after(trimmer: LiveTrimmer, *volts: float) -> Needle:
    return [trimmer.feed(pin(volt)) for volt in volts][-1]


def test_at_the_boards_supply_the_wire_comes_off() -> None:
    needle = live().feed(pin(5.0, at_top=True))
    assert needle.turn == "over" and "take the wire off" in needle.says


@pytest.mark.parametrize(
    ("texts", "why"),
    [
        (
            {"chip": "TMC5160", "sense": "R075", "current": "0.8 A"},
            "no voltage at a trimmer tells the current of TMC5160",
        ),
        ({"chip": "MP6500", "current": "0.8 A"}, "no voltage at a trimmer tells the current of MP6500"),
        ({"chip": "TB6560AHQ", "sense": "R500"}, "no voltage at a trimmer tells the current of TB6560AHQ"),
    ],
)
def test_a_chip_that_cant_be_read_so_is_said(texts: dict[str, str], why: str) -> None:
    with pytest.raises(InputProblem, match=why):
        live(texts)


def test_a_target_above_the_boards_supply_is_refused() -> None:
    high = live({"chip": "L6219", "sense": "1 ohm", "current": "0.7 A"})  # VREF 7 V
    with pytest.raises(InputProblem, match="above the board's own supply of 5 V"):
        high.check_supply(5.0)
    live().check_supply(5.0)


def test_one_point_against_the_persons_meter() -> None:
    trimmer = live(calibrated=False)
    before = live_after(trimmer, *[0.66] * 10)
    assert before.error_share > 0.1 and "makes it finer" in trimmer.accuracy(before)
    assert trimmer.calibrate("0.64") == pytest.approx(0.64 / 0.66)
    trimmer.told_by_meter()
    after = trimmer.feed(pin(0.64))
    assert after.turn == "hold" and after.error_share < 0.015
    assert "driver's error 6.8 %" in trimmer.accuracy(after), "beside what matters"


@pytest.mark.parametrize(
    ("volts", "told", "why"),
    [
        ([0.66] * 10, "about", "about"),
        ([0.66] * 10, "640 ohm", "ohm"),
        ([0.1] * 10, "0.1", "too little to go by"),
        ([0.3, 0.4, 0.5, 0.6, 0.66, 0.66, 0.66, 0.66, 0.66, 0.66], "0.64", "just moved"),
        ([0.66] * 3, "0.64", "just moved"),
    ],
)
def test_a_point_that_tells_nothing_is_refused(volts: list[float], told: str, why: str) -> None:
    trimmer = live(calibrated=False)
    live_after(trimmer, *volts)
    with pytest.raises(InputProblem, match=why):
        trimmer.calibrate(told)


def test_the_board_goes_by_the_meter_and_keeps_it() -> None:
    """A reference of 1.06 V that is taken for 1.1: 0.64 V read as 0.664."""
    board, trimmer = TrimmerBoard("virtual://bench?clock=free&bandgap=1.06"), live(calibrated=False)
    board.open(trimmer)
    board.turn_by(0.64 - 0.15)
    for _ in range(12):
        trimmer.feed(board.read())
    with pytest.raises(InputProblem, match=r"1 to 1\.2 V in every chip"):
        board.rescale(trimmer, "0.9")
    assert not trimmer.calibrated and board.bandgap_volt is None
    assert board.rescale(trimmer, "0.64") == KEPT and trimmer.calibrated
    assert board.bandgap_volt == pytest.approx(1.06, abs=0.004)
    assert trimmer.feed(board.read()).volt == pytest.approx(0.64, abs=0.004)
    board.close()
