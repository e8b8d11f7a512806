"""Motors to axes: what counts, what a trial outweighs, what rides on what, and what would have to change."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.records.saved.jog import Figures, FoundWith, Jog
from coilbench.records.store import Bin
from coilbench.stages.desk import desk_of
from coilbench.stages.machine.changes import COSTS
from coilbench.stages.machine.file import machine_in
from coilbench.stages.machine.fit import fit_answer
from coilbench.stages.machine.scene import head_of
from tests.support.machines import HEAD, add, axis, fit


@pytest.fixture
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as made:
        yield made


def test_the_strong_motor_goes_where_it_is_needed(bin_: Bin) -> None:
    add(bin_, "strong", holding_torque_newton_metre=0.5)
    add(bin_, "weak", holding_torque_newton_metre=0.1)
    found = fit(bin_, axis("light", "0.5 kg"), axis("heavy", "8 kg"))
    assert [each.names for each in found.axes] == [("weak",), ("strong",)]
    assert found.fits and found.changes == ()
    assert found.worst.axis.name == "heavy"


def test_margins_are_those_of_torque_and_axis(bin_: Bin, capsys: pytest.CaptureFixture[str]) -> None:
    """The same figures through the two commands that stand for themselves."""
    import json

    from coilbench.cli import main

    add(bin_, "one")
    (found,) = fit(bin_, axis("slide", "2 kg", 'acceleration = "300 mm/s2"\n')).axes
    words = ["--pulley-teeth", "20", "--pitch", "2mm", "--friction", "0.1", "--speed", "40mm/s", "--mass", "2kg"]
    more = ["--acceleration", "300mm/s2", "--rotor-inertia", "5e-6 kg m2", "--json"]
    assert main(["axis", "belt", *words, *more]) == 0
    asked = json.loads(capsys.readouterr().out)
    drive = ["--coil", "3 ohm", "--inductance", "5mH", "--current", "1 A", "--hold", "0.3 N m", "--supply", "24 V"]
    assert main(["torque", *drive, "--at", str(asked["rate_sps"]), "--json"]) == 0
    pulls = json.loads(capsys.readouterr().out)["points"][0]["torque_newton_metre"]
    assert found.margin == pytest.approx(pulls / asked["total_newton_metre"], rel=1e-6)


def test_a_pair_is_two_that_match(bin_: Bin) -> None:
    for name, ohm in (("a", 3.0), ("b", 4.0), ("c", 3.1), ("d", 8.0)):
        add(bin_, name, resistance_ohm=ohm)
    found = fit(bin_, axis("slide", "2 kg", "motors = 2\n"))
    assert found.axes[0].names == ("a", "c")
    assert "within 10%" in " ".join(found.axes[0].findings)
    add(bin_, "e", resistance_ohm=8.1, holding_torque_newton_metre=0.8)
    assert fit(bin_, axis("slide", "2 kg", "motors = 2\n")).axes[0].names == ("a", "c"), (
        "e's magnet is no match for d"
    )


def test_without_a_pair_it_says_what_would_do(bin_: Bin) -> None:
    add(bin_, "a")
    add(bin_, "b", inductance_henry=9e-3)
    found = fit(bin_, axis("slide", "2 kg", "motors = 2\n"))
    assert found.axes[0].names == () and not found.fits
    assert [each.cost for each in found.changes] == ["a part", "a purchase"]
    assert "joined by a shaft" in found.changes[0].says and found.changes[0].motors in (("a",), ("b",))
    assert "two alike" in found.changes[-1].says


def test_what_rides_weighs(bin_: Bin) -> None:
    add(bin_, "a")
    add(bin_, "b")
    riding = axis("feeder", "1 kg", 'motor-mass = "0.5 kg"\n')
    slide = fit(bin_, axis("slide", "2 kg", "carries = ['feeder']\n"), riding).axes[0]
    assert slide.figure("force_newton") == pytest.approx(0.1 * 3.5 * 9.80665)
    two = riding.replace("motor-mass", "motors = 2\nmotor-mass")
    assert fit(bin_, axis("slide", "2 kg", "carries = ['feeder']\n"), two).axes[0].figure(
        "force_newton"
    ) == pytest.approx(0.1 * 4.0 * 9.80665)


def test_a_riding_motor_that_is_not_weighed_counts_as_usual(bin_: Bin) -> None:
    add(bin_, "a")
    add(bin_, "b")
    slide = fit(bin_, axis("slide", "2 kg", "carries = ['feeder']\n"), axis("feeder")).axes[0]
    assert slide.figure("force_newton") == pytest.approx(0.1 * 3.3 * 9.80665)


JOGGED = FoundWith(supply_volt=24.0, peak_ampere=1.0, microsteps=1)


@pytest.mark.parametrize(
    ("run", "with_", "basis", "fits"),
    [
        (400.0, JOGGED, "trial", True),
        (150.0, JOGGED, "", False),
        (150.0, replace(JOGGED, supply_volt=12.0), "model", True),
        (150.0, replace(JOGGED, peak_ampere=0.5), "model", True),
        (150.0, replace(JOGGED, load_newton_metre=0.2), "trial says no", True),
    ],
)
def test_a_trial_outweighs_the_model(bin_: Bin, run: float, with_: FoundWith, basis: str, fits: bool) -> None:
    add(bin_, "one")  # 200 steps/s is what the slide asks
    jog = Jog(drives=(Figures(run_rate_sps=run, found_with={"run": with_}),))
    desk_of(bin_, "one").keep("jog", jog)
    found = fit(bin_, axis("slide"))
    assert (found.axes[0].basis, found.fits) == (basis, fits)
    if basis in ("trial says no", ""):
        assert any("a trial found it good for 150" in each for each in found.axes[0].warnings)


def test_a_motor_that_is_named_stays_where_it_is(bin_: Bin) -> None:
    add(bin_, "strong", holding_torque_newton_metre=0.5)
    add(bin_, "weak", holding_torque_newton_metre=0.1)
    found = fit(bin_, axis("light", "0.5 kg", 'motor = "strong"\n'), axis("heavy", "8 kg"))
    assert [each.names for each in found.axes] == [("strong",), ("weak",)]
    said = r"bench\.toml, axis 'light', motor: .* 'other' .* expected one of 'strong', 'weak'"
    with pytest.raises(InputProblem, match=said):
        fit(bin_, axis("light", "0.5 kg", 'motor = "other"\n'))


def test_a_unipolar_driver_takes_no_four_leads(bin_: Bin) -> None:
    add(bin_, "one")
    head = HEAD.replace('chip = "DRV8825"', 'most = "1.5 A"\nkind = "unipolar"')
    found = fit(bin_, axis("slide"), head=head)
    assert found.axes[0].names == () and found.changes[0].says == "a bipolar chopping driver"


def test_a_supply_that_kills_the_driver_drives_nothing(bin_: Bin) -> None:
    """A4988: 8 to 35 V (Allegro: A4988 data sheet)."""
    add(bin_, "one")
    add(bin_, "two")
    head = HEAD.replace("DRV8825", "A4988").replace('"24 V"', '"48 V"') + '[[supply]]\nname = "less"\nvolt = "24 V"\n'
    twin = axis("slide", more='supply = "block"\nmotors = 2\n')
    for volt, said in (("48 V", "it will be destroyed"), ("5 V", "it will not run")):
        found = fit(bin_, twin, head=head.replace("48 V", volt))
        slide = found.axes[0]
        assert not slide.there and said in slide.warnings[0] and slide.findings == ()
        assert "feed it from 'less'" in {each.says for each in found.changes}
        assert "a supply of 12 V" in {each.says for each in found.changes}
        assert not any("motor that" in each.says for each in found.changes), "no motor mends that"
    close = fit(bin_, twin, head=head.replace("48 V", "34 V")).axes[0]
    assert close.there and "within a tenth" in close.warnings[0]
    fine = fit(bin_, axis("slide", more='supply = "less"\nmicrosteps = 32\n'), head=head).axes[0]
    assert fine.there and "no 1/32 step" in fine.warnings[0]


def test_changes_are_cheapest_first_and_do(bin_: Bin) -> None:
    add(bin_, "one", holding_torque_newton_metre=0.1)
    add(bin_, "two", holding_torque_newton_metre=0.1)
    lift = axis("lift", "3 kg", 'incline = "90 deg"\n')
    found = fit(bin_, lift)
    assert not found.fits and found.axes[0].margin < 1
    costs = [COSTS.index(each.cost) for each in found.changes]
    assert costs == sorted(costs) and found.changes[-1].motors == ()
    assert all(each.margin is None or each.margin >= 2 for each in found.changes)
    geared = next(each for each in found.changes if each.says.startswith("gear it"))
    ratio = geared.says.removeprefix("gear it ").removesuffix(":1")
    again = fit(bin_, axis("lift", "3 kg", f'incline = "90 deg"\ngear = {ratio}\n'))
    assert again.fits and again.axes[0].margin == pytest.approx(geared.margin)


def test_a_lift_has_to_be_held(bin_: Bin) -> None:
    add(bin_, "one")
    found = fit(bin_, axis("lift", "1 kg", 'incline = "90 deg"\n')).axes[0]
    asked = found.there[0].worth.asked
    assert asked.hold_newton_metre == pytest.approx(9.80665 * 0.04 / (2 * 3.14159265), rel=1e-6)


def test_with_no_motor_known_it_says_so(bin_: Bin) -> None:
    with pytest.raises(NotEnoughKnown):
        fit(bin_, axis("slide"))
    bin_.add_motor("raw", ("RD", "BU", "GN", "BK"))
    with pytest.raises(NotEnoughKnown, match="sorted and rated"):
        fit(bin_, axis("slide"))
    add(bin_, "one")
    assert fit(bin_, axis("slide")).left_out == (("raw", "its windings are not sorted"),)


def test_more_drivers_than_there_are(bin_: Bin) -> None:
    add(bin_, "a")
    add(bin_, "b")
    few = HEAD.replace('chip = "DRV8825"', 'chip = "DRV8825"\ncount = 1')
    found = fit(bin_, axis("x"), axis("y"), head=few)
    assert found.short_of == ("2 drivers 'board' are needed, there are 1",) and head_of(found).act in found.short_of


def test_what_is_at_the_bench_needs_no_telling(bin_: Bin) -> None:
    from coilbench.stages.bench import OwnThings, kind_called

    add(bin_, "one")
    own = OwnThings(bin_)
    with pytest.raises(InputProblem, match="coilbench bench"):
        machine_in(axis("slide"), "bench.toml", own.bench)
    own.add(kind_called("driver"), {"chip": "A4988", "sense": "R100"})
    own.add(kind_called("supply"), {"supply": "24 V"})
    own.add(kind_called("supply"), {"supply": "12 V", "name": "small"})
    usual = machine_in(axis("slide"), "bench.toml", own.bench).axes[0]
    assert (usual.driver.at_hand, usual.driver.sense, usual.supply.volt) == ("A4988", "R100", 24.0)
    small = machine_in(axis("slide", more='supply = "small"\n'), "bench.toml", own.bench)
    assert small.axes[0].supply.volt == 12.0
    assert fit_answer(small, bin_).axes[0].names == ("one",)
    told = machine_in(HEAD + axis("slide"), "bench.toml", own.bench).axes[0]
    assert told.driver.at_hand == "DRV8825", "what the file says comes first"


def test_the_rate_needed_stands_against_the_one_it_is_good_for(bin_: Bin) -> None:
    add(bin_, "one")
    (slide,) = fit(bin_, axis("slide", "2 kg")).axes
    assert slide.good_for_sps is not None and "by the model, no trial yet" in slide.rates_text
    there = slide.there[0]
    pulls = there.offer.torque_at(slide.good_for_sps)  # between the curve's points, so within 1 %
    assert pulls == pytest.approx(2 * there.worth.asked.total_newton_metre, rel=0.02)
    for load, rate in ((None, 250.0), (0.5, 90_000.0)):  # a trial says no more than it ran, and all that it ran
        jog = Jog(drives=(Figures(run_rate_sps=rate, found_with={"run": replace(JOGGED, load_newton_metre=load)}),))
        desk_of(bin_, "one").keep("jog", jog)
        (slide,) = fit(bin_, axis("slide", "2 kg")).axes
        assert slide.good_for_sps == rate and slide.rates_text.endswith("as a trial found")
    assert slide.as_json()["good_for_sps"] == 90_000.0 and slide.rates_text in slide.findings
