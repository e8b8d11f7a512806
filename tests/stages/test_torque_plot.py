"""Torque on the supplies at hand: the model's own figures, in the order of their volts, the demand beside them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from coilbench.errors import NotEnoughKnown
from coilbench.records.saved.own import OwnBench, OwnSupply
from coilbench.records.store import Bin
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk
from coilbench.stages.machine.torque import torque_of_axis
from coilbench.stages.torque_plot import table_of, volts_at_hand
from tests.support.machines import HEAD, add, axis, fit

OWN = OwnBench((OwnSupply(name="old", supply="12 V"), OwnSupply(name="twin", supply="24 V")))


@pytest.fixture
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as made:
        add(made, "one")
        yield made


def test_supplies_are_told_once_each_and_the_one_at_work_always() -> None:
    assert volts_at_hand(OwnBench()) == [("12 V", 12.0), ("24 V", 24.0)]
    assert volts_at_hand(OWN, ("block", 24.0)) == [("old", 12.0), ("block", 24.0)]
    many = OwnBench(tuple(OwnSupply(name=f"{volt}", supply=f"{volt} V") for volt in (5, 9, 12, 15, 18, 19)))
    assert [volt for _, volt in volts_at_hand(many, ("block", 24.0))] == [5, 9, 12, 24]


def test_an_axis_has_what_it_asks_drawn_in(bin_: Bin) -> None:
    (slide,) = fit(bin_, axis("slide", "2 kg")).axes
    plot = torque_of_axis(slide, OWN)
    assert [line.name for line in plot.lines] == ["old, 12 V", "block, 24 V"] and plot.first == 1
    assert plot.demand is not None and plot.demand.rpm == pytest.approx(60)
    assert plot.demand.newton_metre == pytest.approx(slide.there[0].worth.asked.total_newton_metre)
    low, high = plot.lines
    assert high.half_torque_rpm > 1.5 * low.half_torque_rpm and high.rpm[-1] > low.rpm[-1]
    assert high.torque[0] == pytest.approx(low.torque[0], rel=0.02), "a chopper sets the same current"
    for line in plot.lines:
        assert len(line.rpm) == len(line.torque) == len(line.low) == len(line.high)
        assert list(line.torque) == sorted(line.torque, reverse=True)
    # The margin in words is the fit's own, by the curve between its points.
    assert f"margin {slide.margin:.2g}" in plot.says(1)[1]
    assert table_of(plot)[0] == ("rpm", "old, 12 V", "block, 24 V")
    with pytest.raises(NotEnoughKnown):
        torque_of_axis(fit(bin_, axis("pair", "1 kg", "motors = 2\n")).axes[0], OWN)


def test_the_connection_picked_is_drawn_on_the_supply_typed(bin_: Bin) -> None:
    stage = ConnectionStage(Desk(bin_, "one"))
    plot = stage.torque_plot({**stage.texts(), "supply": "36 V"})
    assert [line.name for line in plot.lines] == ["36 V"] and plot.demand is None and plot.notes == ()
    assert plot.title == "one bipolar"
    (slide,) = fit(bin_, axis("slide"), head=HEAD.replace("24 V", "36 V")).axes
    assert plot.lines[0].torque[0] == pytest.approx(torque_of_axis(slide, OwnBench()).lines[0].torque[0])
