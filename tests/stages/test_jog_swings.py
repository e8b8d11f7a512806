"""The rotor's swing in the jog: measured on virtual boards, kept with what it belongs to, built upon, gone stale."""

from __future__ import annotations

from dataclasses import replace

import pytest

from coilbench.errors import NotEnoughKnown
from coilbench.motion.swing import Swing
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Figures, FoundWith, Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.desk import scratch_desk
from coilbench.stages.jog.figures import figures_known
from coilbench.stages.jog.plans import plan_for
from coilbench.stages.jog.searches import Limits
from coilbench.stages.jog.setting import first_texts, usable_setting
from coilbench.stages.jog.swings import (
    load_ratio,
    measured_rotor_inertia,
    rotor_of,
    swing_hz,
    swing_lines,
    with_swing,
)
from coilbench.stages.jog.worth import worth_lines
from tests.stages.test_jog import PORT, do, search_out, turned

BARE = FoundWith(peak_ampere=1.7, holding_newton_metre=0.26)
LOADED = replace(BARE, on_shaft="coupled")
AT_173, AT_100 = Swing(144, 173, 155, 190), Swing(83, 100, 90, 110)
BOTH = with_swing(with_swing(Figures(), AT_173, BARE, 200), AT_100, LOADED, 200).swings


def test_a_loaded_swing_is_measured_and_tells_the_load_s_inertia() -> None:
    with (made := scratch_desk(("RD", "BU", "GN", "BK"))).bin:
        made.keep(Jog.stage, Jog(drives=(Figures(swings=BOTH[1:]),)))
        stage = turned(made, f"{PORT}&flywheel=3", on_shaft="coupled", current="1.7 A", rotor="110", inertia="220")
        do(stage, stage.choose("swing"))
        assert "fingertip" in stage.scene.says and "flag" not in stage.scene.says and stage.scene.go
        do(stage, stage.go())
        assert dict(stage.scene.answers)[1] == "on the way out" and " back" in stage.scene.under
        search_out(stage)
        assert stage.scene.figure is not None and not stage.scene.prove and stage.search.asked is None
        assert len(stage.search.answers) <= 12
        # The bench motor's small swings are of sqrt(50 x 0.26 / 110e-7) / 2 pi = 173 Hz, with three times the inertia
        # of 100 Hz; what is on its shaft has twice the rotor's inertia.
        loaded, bare = stage.figures.swings
        assert bare.hz == 173 and loaded.low_hz < 100 < loaded.high_hz
        assert load_ratio(stage.figures.swings, loaded.found_with) == pytest.approx(2, rel=0.4)
        assert any("by both swings: a start falls to" in line for line in stage.search.judged.said)  # type: ignore[union-attr]
        assert [line.label for line in stage.known_now].count("swing") == 2
        stage.leave()
        assert "5" not in stage.scene.says and f"{loaded.hz:.0f} Hz" in dict(stage.scene.answers)[5]


def test_what_was_measured_goes_before_what_is_estimated() -> None:
    known = Facts(
        {"driver": Driver(chip="DRV8825", peak_ampere=1.7), "ratings": Ratings(holding_torque_newton_metre=0.26)}
    )
    setting = usable_setting({**first_texts(known, []), "port": PORT, "rotor": "54"}, known)
    figures = Figures(swings=BOTH)
    scan = plan_for("resonance", setting, figures, 9000.0, Limits())
    start = plan_for("start", setting, figures, 9000.0, Limits())
    again = plan_for("swing", setting, figures, 9000.0, Limits())
    assert scan.swing_hz == 173  # type: ignore[union-attr]
    ((low, high),) = start.avoid  # type: ignore[union-attr]
    assert low < 0.7 * 173 and high > 1.15 * 173
    assert again.expected_hz == pytest.approx(247, abs=1)  # type: ignore[union-attr] # as typed: measured anew
    micro = usable_setting({**first_texts(known, []), "port": PORT, "microsteps": "8"}, known)
    with pytest.raises(NotEnoughKnown, match="hardly"):
        plan_for("swing", micro, figures, 9000.0, Limits())


def test_a_swing_holds_for_its_shaft_and_current() -> None:
    assert swing_hz(BOTH, BARE) == 173 and swing_hz(BOTH, LOADED) == 100
    assert swing_hz(BOTH, replace(BARE, supply_volt=24, microsteps=8)) == 173
    assert swing_hz(BOTH, replace(BARE, peak_ampere=1.2)) is None
    assert swing_hz(BOTH, replace(BARE, on_shaft="machine")) is None
    # Not measured so, but with inertia typed: the bare one less what the load takes.
    machine = replace(BARE, on_shaft="machine", load_inertia_kilogram_metre2=330e-7)
    assert swing_hz(BOTH, machine) == pytest.approx(173 / 2, rel=0.01)
    (told, loaded) = figures_known(Jog(drives=(Figures(swings=BOTH),)), Driver(chip="DRV8825", peak_ampere=1.2))
    assert told.text == "100 Hz (90 to 110), with a load; stale: 1.7 A then, 1.2 A now" and "stale" in loaded.text


def test_inertia_by_the_swing_feeds_what_a_load_leaves() -> None:
    assert rotor_of(BOTH, BARE) == pytest.approx(110e-7, rel=0.01)
    assert rotor_of(BOTH, replace(BARE, rotor_inertia_kilogram_metre2=54e-7)) == 54e-7
    assert rotor_of(BOTH, replace(BARE, peak_ampere=1.0)) is None
    jog = Jog(drives=(Figures(swings=BOTH),))
    assert measured_rotor_inertia(Facts({"jog": jog})) == pytest.approx(110e-7, rel=0.01)
    assert measured_rotor_inertia(Facts()) is None
    bare = replace(BARE, load_inertia_kilogram_metre2=330e-7)
    assert any("about 450 steps/s" in line for line in worth_lines("start", 900.0, bare, BOTH))
    assert any("nothing to set a machine by" in line for line in worth_lines("start", 900.0, bare))
    # With no inertia typed at all: by both swings alone.
    assert any("about 520 steps/s" in line for line in worth_lines("start", 900.0, BARE, BOTH))
    assert any("nothing to set a machine by" in line for line in worth_lines("start", 900.0, BARE, BOTH[1:]))
    lines = swing_lines(AT_100, BOTH[1:], LOADED, 200)
    assert any("has 329.3 g·cm² (within 22%" in line for line in lines) and any("58% of" in line for line in lines)
