"""What a jog's figures were found with, when they go stale, and what they are worth."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.board.session.drive import Drive
from coilbench.errors import NotEnoughKnown
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import Figures, FoundWith, Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.form import FieldProblem
from coilbench.stages.jog.expected import run_expected
from coilbench.stages.jog.figures import figures_known
from coilbench.stages.jog.found_with import change_words, fitting, found_with_words, read_found_with
from coilbench.stages.jog.plans import plan_for
from coilbench.stages.jog.searches import Limits
from coilbench.stages.jog.setting import first_texts, usable_setting
from coilbench.stages.jog.worth import worth_lines
from coilbench.stages.outdated import outdated
from coilbench.stages.torque_curve import TorqueCurve
from tests.support import machines

SET = Driver(chip="A4988", peak_ampere=1.7, supply_volt=12.0, microsteps=8)
BARE = FoundWith(supply_volt=12.0, peak_ampere=1.7, microsteps=8)


def test_the_driver_stage_says_supply_and_current_unless_they_are_typed() -> None:
    known = Facts({"driver": SET, "ratings": Ratings(inertia_kilogram_metre2=54e-7)})
    here = read_found_with({"on_shaft": "coupled"}, known, Drive(microsteps=8))
    assert (here.supply_volt, here.peak_ampere, here.microsteps, here.on_shaft) == (12, 1.7, 8, "coupled")
    assert here.rotor_inertia_kilogram_metre2 == pytest.approx(54e-7)
    typed = read_found_with({"supply": "24 V", "current": "900 mA"}, known, Drive(microsteps=8))
    assert (typed.supply_volt, typed.peak_ampere) == (24, 0.9)
    coils = read_found_with({}, known, Drive("array"))
    assert (coils.supply_volt, coils.peak_ampere, coils.microsteps) == (None, None, None)
    assert found_with_words(here) == "with a load, 12 V, 1.7 A peak, 1/8 steps"
    assert found_with_words(None) == "not said with what"


@pytest.mark.parametrize(
    ("text", "inertia"), [("54", 54e-7), ("54 g·cm²", 54e-7), ("0,5 kg cm2", 0.5e-4), ("1.1e-5 kg m^2", 1.1e-5)]
)
def test_inertias_as_people_write_them(text: str, inertia: float) -> None:
    found = read_found_with({"rotor": text}, Facts(), Drive())
    assert found.rotor_inertia_kilogram_metre2 == pytest.approx(inertia)


@pytest.mark.parametrize(
    "texts",
    [{"rotor": "heavy"}, {"inertia": "0"}, {"torque": "5 kg"}, {"on_shaft": "a brick"}, {"rotor": "9" * 10_000}],
)
def test_what_can_not_be_read_names_its_field(texts: dict[str, str]) -> None:
    with pytest.raises(FieldProblem) as problem:
        read_found_with(texts, Facts(), Drive())
    assert problem.value.field == next(iter(texts)) and len(str(problem.value)) < 300


@pytest.mark.parametrize(
    ("now", "says"),
    [
        (FoundWith(on_shaft="machine", supply_volt=12.0, peak_ampere=1.7, microsteps=8), "in the machine now"),
        (FoundWith(supply_volt=24.0, peak_ampere=1.7, microsteps=8), "12 V then, 24 V now"),
        (FoundWith(supply_volt=12.0, peak_ampere=1.2, microsteps=8), "1.7 A then, 1.2 A now"),
        (FoundWith(supply_volt=12.0, peak_ampere=1.7, microsteps=16), "1/8 steps then, 1/16 now"),
        (FoundWith(supply_volt=12.1, peak_ampere=1.7, microsteps=8), ""),
        (FoundWith(), ""),  # what isn't known has not changed
    ],
)
def test_a_figure_goes_stale_when_one_of_these_changes(now: FoundWith, says: str) -> None:
    assert (says in change_words(BARE, now)) if says else change_words(BARE, now) == ""
    figures = Figures(start_rate_sps=700.0, run_rate_sps=2000.0, found_with={"start": BARE})
    kept = fitting(figures, now)
    assert kept.start_rate_sps == (None if says else 700) and kept.run_rate_sps == 2000


def test_a_stale_figure_says_so_and_is_not_built_upon() -> None:
    desk = scratch_desk(("RD", "BU", "GN", "BK"))
    with desk.bin:
        figures = Figures(start_rate_sps=700.0, found_with={"start": BARE})
        desk.keep("jog", Jog(drives=(figures,)))
        desk.keep("driver", SET)
        assert outdated(desk) == ""
        (line,) = figures_known(desk.known.get(Jog), SET)
        assert line.text == "700 steps/s, bare shaft"
        turned_down = Driver(chip="A4988", peak_ampere=0.9, supply_volt=12.0, microsteps=8)
        desk.keep("driver", turned_down)
        assert "the jog's start was found with another setting (1.7 A then, 0.9 A now)" in outdated(desk)
        (line,) = figures_known(desk.known.get(Jog), turned_down)
        assert "stale: 1.7 A then" in line.text
        texts = {**first_texts(desk.known, []), "port": "virtual://bench"}
        setting = usable_setting(texts, desk.known)
        with pytest.raises(NotEnoughKnown, match="another setting"):
            plan_for("run", setting, figures, 9000.0, Limits())


def test_a_bare_figure_says_what_a_load_leaves_of_it() -> None:
    told = FoundWith(
        rotor_inertia_kilogram_metre2=110e-7,
        load_inertia_kilogram_metre2=220e-7,
        load_newton_metre=0.05,
        holding_newton_metre=0.26,
    )
    found, bare, margin = worth_lines("start", 862.0, told)
    # 862 / sqrt(3) * sqrt(1 - 0.05 / 0.13), and / 0.173
    assert "bare shaft" in found and "about 390 to 420 steps/s" in bare and "half to two thirds" in margin
    # 862 / sqrt(3)
    (_, unheld, _) = worth_lines("start", 862.0, replace(told, holding_newton_metre=None))
    assert "about 498 steps/s" in unheld and "load M is left out" in unheld
    (_, heavy, _) = worth_lines("start", 862.0, replace(told, load_newton_metre=0.15))
    assert "hardly starts" in heavy
    _, run, _ = worth_lines("run", 2000.0, told)
    assert "speeds up slower" in run
    _, acceleration, _ = worth_lines("acceleration", 9000.0, told)
    assert "3e+03 steps/s2" in acceleration
    _, unknown, _ = worth_lines("start", 862.0, FoundWith())
    assert "nothing to set a machine by" in unknown and "rotor J" in unknown
    assert len(worth_lines("start", 862.0, FoundWith(on_shaft="machine"))) == 2
    assert worth_lines("start", None, told) == worth_lines("start", 862.0, None) == ()


def test_a_motor_s_size_lets_resonance_be_looked_for() -> None:
    known = Facts({"intake": Intake(frame="NEMA 17", length_metre=0.04)})
    setting = usable_setting({**first_texts(known, []), "port": "virtual://bench"}, known)
    assert setting.size_swing_hz == pytest.approx(299, abs=10)
    plan = plan_for("resonance", setting, Figures(), 9000.0, Limits())
    assert plan.swing_hz == setting.size_swing_hz  # type: ignore[union-attr]
    can = Facts({"intake": Intake(frame="35 mm can")})
    assert usable_setting({**first_texts(can, []), "port": "virtual://tincan"}, can).size_swing_hz is None
    rated = Facts({"ratings": Ratings(holding_torque_newton_metre=0.35)})
    typed = usable_setting({**first_texts(known, []), "port": "virtual://bench", "rotor": "54"}, rated)
    scan = plan_for("resonance", typed, Figures(), 9000.0, Limits())
    # sqrt(50 x 0.35 / 54e-7) / 2 pi, and with the rotor's inertia entered the start keeps away from it.
    assert scan.swing_hz == pytest.approx(286.5, abs=0.5)  # type: ignore[union-attr]
    start = plan_for("start", typed, Figures(), 9000.0, Limits())
    ((low, high),) = start.avoid  # type: ignore[union-attr]
    assert (low, high) == pytest.approx((186.2, 343.8), abs=0.5)


def test_a_run_is_expected_by_the_torque_curve_where_the_motor_s_figures_are_measured() -> None:
    with Bin.scratch() as bin_:
        machines.add(bin_, "one")
        desk = Desk(bin_, "one")
        texts = {**first_texts(desk.known, []), "port": "virtual://bench"}
        driven = {**texts, "supply": "24 V", "current": "1 A"}
        bare = run_expected(desk, usable_setting(driven, desk.known))
        assert (
            bare.startswith("By its torque curve on 24 V half of the torque is left at ") and "gives out" not in bare
        )
        half = round(float(bare.split(" left at ")[1].split()[0]))
        curve = TorqueCurve(desk).answer({"supply": "24 V", "current": "1 A", "microsteps": "1"})
        assert curve.ends is not None and half == pytest.approx(curve.ends.half_torque_sps, rel=0.05)
        loaded = {**driven, "on_shaft": "coupled", "torque": "0.1 Nm", "inertia": "50"}
        assert "with its load it gives out near" in run_expected(desk, usable_setting(loaded, desk.known))
        assert run_expected(desk, usable_setting({**driven, "kind": "bridge"}, desk.known)) == ""
        machines.add(bin_, "unmeasured", inductance_henry=None)  # type: ignore[arg-type]
        other = Desk(bin_, "unmeasured")
        assert run_expected(other, usable_setting(driven, other.known)) == ""
