"""Each supply of a machine: what its axes take, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from coilbench.cautions import CHARGED
from coilbench.records.store import Bin
from coilbench.stages.machine.budget import FUSE_CAUTION
from tests.support.machines import HEAD, add, axis, fit


@pytest.fixture
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as made:
        add(made, "a")
        add(made, "b")
        yield made


def head(supply: str) -> str:
    return HEAD.replace('volt = "24 V"', supply)


def test_branches_add_up(bin_: Bin) -> None:
    (found,) = fit(bin_, axis("x"), axis("y", "3 kg"), head=head('volt = "24 V"\nmost = "2 A"')).budgets
    assert [each.axis for each in found.branches] == ["x", "y"]
    assert found.worst_ampere == pytest.approx(sum(each.worst_watt for each in found.branches) / 24)
    assert found.standing_ampere < found.worst_ampere < 2 and found.within is True
    alone = fit(bin_, axis("x")).budgets[0].branches[0]
    assert alone.worst_watt == pytest.approx(found.branches[0].worst_watt)
    assert alone.fuse_ampere == 1.0 and alone.wire is not None and alone.wire.gauge == 20


def test_too_small_a_supply_is_told(bin_: Bin) -> None:
    (found,) = fit(bin_, axis("x"), axis("y"), head=head('volt = "24 V"\nmost = "0.3 A"')).budgets
    assert found.within is False and "gives 0.3 A" in found.findings[0]
    (found,) = fit(bin_, axis("x")).budgets
    assert found.within is None and "is not told" in found.findings[0]


def test_a_computers_rail_has_its_cautions(bin_: Bin) -> None:
    (found,) = fit(bin_, axis("x"), head=head('computer = "400 W"\nrail = "12V1"')).budgets
    said = " ".join(found.findings)
    assert found.supply.most_ampere == 14
    assert CHARGED in said and FUSE_CAUTION in said and "needs 1 A" in said


def test_two_motors_take_twice(bin_: Bin) -> None:
    one = fit(bin_, axis("x")).budgets[0].branches[0]
    two = fit(bin_, axis("x", more="motors = 2\n")).budgets[0].branches[0]
    assert two.standing_watt == pytest.approx(2 * one.standing_watt)


def test_an_axis_without_a_motor_takes_nothing(bin_: Bin) -> None:
    assert len(fit(bin_, axis("x"), axis("y"), axis("z")).budgets[0].branches) == 2
