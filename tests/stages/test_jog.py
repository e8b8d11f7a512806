"""The jog without a screen: whole searches on a virtual board, what is kept of them, and what goes wrong."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import pytest

from coilbench.board.link.faults import LinkFault
from coilbench.board.link.ports import port_words
from coilbench.board.session.drive import Drive
from coilbench.errors import CoilbenchError, Fault, InputProblem, NotEnoughKnown
from coilbench.motion.trials import Shaft
from coilbench.records.saved.base import Event
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import Figures, Jog, SavedDrive, SearchBegun, SearchEnded, SlowTurn, TrialMade
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import WindingFault, Windings
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.jog.plans import plan_for
from coilbench.stages.jog.searches import Limits
from coilbench.stages.jog.session import Job, open_board
from coilbench.stages.jog.setting import first_texts, gear_of, read_setting, usable_setting
from coilbench.stages.jog.stage import JogStage

PORT = "virtual://bench?clock=free"
NARROW = Limits(900.0, 1400.0)  # saves moves


@pytest.fixture
def desk() -> Iterator[Desk]:
    made = scratch_desk(("RD", "BU", "GN", "BK"))
    with made.bin:
        yield made


def do(stage: JogStage, job: Job | None) -> None:
    """Jobs one after the other, as a command does them."""
    while job is not None:
        try:
            result = job(lambda state, rate: None)
        except CoilbenchError as problem:
            stage.failed(problem)
            return
        job = stage.done(result)


def connected(desk: Desk, port: str = PORT, **texts: str) -> JogStage:
    stage = JogStage(desk)
    do(stage, stage.connect({**stage.texts(), "port": port, **texts}))
    return stage


def turned(desk: Desk, port: str = PORT, **texts: str) -> JogStage:
    stage = connected(desk, port, **texts)
    do(stage, stage.turn())
    do(stage, stage.shaft_answer())
    return stage


def way_back_proved(stage: JogStage) -> None:
    """The way back turned alone, twice, as every search begins."""
    do(stage, stage.go())
    for _ in range(2):
        assert stage.search.trial is not None and stage.search.trial.question == "back"
        do(stage, stage.answer_digit(0))


def search_out(stage: JogStage, most: int = 80) -> None:
    for _ in range(most):
        if stage.search.trial is None:
            return
        do(stage, stage.shaft_answer() if stage.search.asked is not None else stage.go())
    raise AssertionError(stage.scene)


def saved(desk: Desk) -> list[Event]:
    return [each.value for each in desk.entries(Event)]


def test_from_a_board_to_a_working_rate_and_its_proof(desk: Desk) -> None:
    stage = turned(desk)
    assert stage.stand == "choose" and stage.scene.title == "what to find?"
    do(stage, stage.choose("start", NARROW))
    assert stage.scene.go and not stage.moving  # a word is waited for
    search_out(stage)
    jog = desk.known.get(Jog)
    assert jog is not None and jog.drives[0].interval is not None
    low, high = jog.drives[0].interval
    assert (
        jog.drives[0].working_rate_sps == jog.drives[0].start_rate_sps and jog.drives[0].start_rate_sps < low < high
    )
    assert stage.scene.prove and stage.scene.curve is not None
    stage.prove()
    do(stage, stage.go())
    do(stage, stage.answer_digit(0))
    assert (
        stage.search.judged is not None and stage.search.judged.proved == 1 and stage.search.asked is not None
    )  # the next one went by itself
    do(stage, stage.answer_digit(5))
    stage.leave()
    assert stage.stand == "choose" and "is kept" in stage.pause
    do(stage, stage.choose("run", Limits(2200.0, 3200.0)))
    search_out(stage)
    figures = stage.figures
    assert figures.run_rate_sps == figures.working_rate_sps and figures.proved["start"] == 1
    assert figures.run_acceleration_sps2 == 5000 and figures.acceleration_sps2 is None


def test_resonance_is_scanned_and_kept_away_from(desk: Desk) -> None:
    stage = turned(desk)
    do(stage, stage.choose("resonance"))
    do(stage, stage.go())
    do(stage, stage.shaft_answer())
    assert len(stage.search.answers) == 1
    stage.close()
    again = JogStage(desk)
    assert "resonance is under way, 1 move kept" in again.says
    again = turned(desk)  # goes on where it was
    assert again.search.kind == "resonance" and len(again.search.answers) == 1 and not again.moving
    while again.search.trial is not None:
        assert desk.known.get(Jog) is None  # a scan halfway says nothing yet
        do(again, again.shaft_answer() if again.search.asked is not None else again.go())
    figures = again.figures
    # The bench motor's small-swing frequency is near 173 Hz (sqrt(50 x 0.26 / 110e-7) / 2 pi); skips lie below.
    assert figures.resonance_sps and all(80 < rate < 200 for rate in figures.resonance_sps)
    assert "pass through it quickly" in again.scene.says
    assert any(line.label == "resonance" for line in again.known_now)
    again.leave()
    do(again, again.choose("start"))
    assert again.search.judged is not None and again.search.judged.plan.avoid == figures.resonance_bands_sps  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("figures", "highest"),
    [
        (Figures(), 400),
        (Figures(start_rate_sps=250.0), 200),
        (Figures(start_rate_sps=900.0, run_rate_sps=300.0), 300),
    ],
)
def test_a_scan_stays_below_every_known_limit(figures: Figures, highest: float) -> None:
    setting = read_setting({**first_texts(Facts(), []), "port": PORT})
    assert plan_for("resonance", setting, figures, 9000.0, Limits()).highest_sps == highest  # type: ignore[union-attr]
    with pytest.raises(InputProblem, match="can't be"):
        plan_for("resonance", setting, Figures(start_rate_sps=20.0), 9000.0, Limits())


def test_ratings_bring_the_swing_frequency_to_a_scan() -> None:
    known = Facts({"ratings": Ratings(holding_torque_newton_metre=0.26, inertia_kilogram_metre2=110e-7)})
    setting = usable_setting({**first_texts(known, []), "port": PORT}, known)
    plan = plan_for("resonance", setting, Figures(), 9000.0, Limits())
    assert plan.swing_hz == pytest.approx(173, abs=0.5)  # type: ignore[union-attr]


def test_a_search_broken_off_is_gone_on_with_and_undone(desk: Desk) -> None:
    stage = turned(desk)
    do(stage, stage.choose("start"))
    do(stage, stage.go())
    do(stage, stage.answer("y"))
    do(stage, stage.answer("n"))
    assert [type(each) for each in saved(desk)] == [SlowTurn, SearchBegun, TrialMade, TrialMade]
    following = stage.search.trial
    stage.close()  # as a kill, or Ctrl-C, leaves it
    again = turned(desk)
    assert again.search.trial == following and len(again.search.answers) == 2 and not again.moving
    assert again.can_undo and again.undo() == "test"
    do(again, again.judge_again())
    assert len(again.search.answers) == 1 and again.search.trial != following
    assert again.can_redo and again.redo() == "test"
    do(again, again.judge_again())
    assert again.search.trial == following


def test_undo_takes_a_finding_back_with_its_last_answer(desk: Desk) -> None:
    stage = turned(desk)
    do(stage, stage.choose("start", Limits(900.0, 1400.0, most_moves=4)))
    search_out(stage)
    assert desk.known.get(Jog) is not None
    stage.undo()
    do(stage, stage.judge_again())
    assert desk.known.get(Jog) is None and stage.search.trial is not None and len(stage.search.answers) == 3


def test_two_moves_are_no_result_and_not_lost_either(desk: Desk) -> None:
    stage = turned(desk)
    do(stage, stage.choose("start"))
    way_back_proved(stage)
    do(stage, stage.answer_digit(0))
    do(stage, stage.answer_digit(4))
    assert "an estimate, between" in stage.scene.count
    following = stage.search.trial
    stage.leave()
    assert desk.known.get(Jog) is None and "Too rough for a result; its 4 moves are kept" in stage.pause
    assert any("rough" in line.text for line in stage.known_now)
    do(stage, stage.choose("resonance"))  # something else, and back to it
    stage.leave()
    do(stage, stage.choose("start"))
    assert len(stage.search.answers) == 4 and stage.search.trial == following and not stage.moving


def test_when_to_stop_may_change_on_the_way(desk: Desk) -> None:
    stage = turned(desk)
    do(stage, stage.choose("start"))
    do(stage, stage.go())
    do(stage, stage.answer_digit(0))
    do(stage, stage.answer_digit(4))
    do(stage, stage.choose("start", Limits(most_moves=3)))
    assert len(stage.search.answers) == 2 and stage.search.trial is not None and not stage.moving
    do(stage, stage.go())
    do(stage, stage.answer_digit(0))
    assert len(stage.search.answers) == 3 and stage.search.trial is None  # that was the last
    do(stage, stage.choose("start", Limits(700.0, 900.0)))
    assert not stage.search.answers  # another range is another search


@pytest.mark.parametrize("other", [{"kind": "array"}, {"turn": "400"}])
def test_a_search_of_another_drive_or_shaft_is_not_gone_on_with(desk: Desk, other: Mapping[str, str]) -> None:
    stage = turned(desk)
    do(stage, stage.choose("start"))
    do(stage, stage.go())
    do(stage, stage.shaft_answer())
    again = connected(desk, **other)
    do(again, again.turn())
    do(again, again.turned("clockwise"))
    assert again.stand == "choose" and "search under way was ended" in again.pause
    assert isinstance(saved(desk)[-1], SearchEnded)


def test_a_run_wants_a_start_first(desk: Desk) -> None:
    stage = turned(desk)
    with pytest.raises(NotEnoughKnown, match="resonance"):
        stage.choose("run")


def test_figures_of_another_drive_stay(desk: Desk) -> None:
    desk.keep("jog", Jog(drives=(Figures(start_rate_sps=777.0, run_rate_sps=888.0),)))
    stage = turned(desk, kind="bridge", form="half")
    do(stage, stage.choose("start", Limits(620.0, 690.0)))
    search_out(stage)
    jog = desk.known.get(Jog)
    assert jog is not None and jog.drives[0].drive == SavedDrive(kind="bridge", form="half")
    assert jog.drives[0].start_rate_sps != 777 and jog.drives[1].run_rate_sps == 888


def test_the_sensor_answers_by_itself_and_is_not_kept_with_the_figures(desk: Desk) -> None:
    stage = turned(desk, watch="sensor")
    do(stage, stage.choose("start", Limits(900.0, 1400.0, most_moves=4)))
    job, said = stage.go(), ""
    while job is not None:  # and all that follow
        job = stage.done(job(lambda state, rate: None))
        said += stage.scene.under
    assert stage.search.trial is None and "steps lost" in said
    trials = [each for each in saved(desk) if isinstance(each, TrialMade)]
    assert {each.by for each in trials} == {"sensor"} and all(
        each.outcome.missed_steps is not None for each in trials
    )
    assert stage.figures.shaft is not None and not stage.figures.shaft.sensor
    assert JogStage(desk).texts()["watch"] == "sensor"  # as it was last


def test_the_sensor_counts_a_turn_and_corrects_the_texts(desk: Desk) -> None:
    port = "virtual://tincan?clock=free"
    stage = connected(desk, port, turn="200", watch="sensor")
    do(stage, stage.turn())
    assert stage.stand == "board" and stage.texts()["turn"] == "48"
    assert "counted 48 steps a turn of the flag, not 200" in stage.says
    do(stage, stage.connect({**stage.texts(), "port": port}))
    do(stage, stage.turn())
    assert "counted 48 steps a turn" in stage.scene.says


@pytest.mark.parametrize(("seen", "says"), [(3, "power off"), (5, "steps in a turn")])
def test_a_shaft_that_turned_badly_is_not_searched(desk: Desk, seen: int, says: str) -> None:
    stage = connected(desk)
    do(stage, stage.turn())
    do(stage, stage.answer_digit(seen))
    assert stage.stand == "wire" and says in stage.says and stage.is_problem


def test_a_stop_before_the_first_step_holds(desk: Desk) -> None:
    stage = turned(desk)
    do(stage, stage.choose("start"))
    job, session = stage.go(), stage.session
    assert session is not None
    session.stop()
    do(stage, job)
    assert stage.stopped and "Stopped, outputs off." in stage.pause and stage.search.asked is None
    session.close()
    with pytest.raises(LinkFault, match="no board"):
        session.turn(lambda state, rate: None)


def test_a_motor_that_leaks_or_cannot_be_driven_so_is_not_powered(desk: Desk) -> None:
    desk.keep("windings", Windings(arrangement="unknown", faults=(WindingFault(kind="frame", leads=("RD",)),)))
    stage = JogStage(desk)
    assert "do not power this motor: RD conducts to the case" in stage.says
    with pytest.raises(Fault, match="to the case"):
        stage.connect({**stage.texts(), "port": PORT})
    assert stage.session is None and stage.turn() is None and stage.go() is None


# Texts


def texts_with(**texts: str) -> dict[str, str]:
    return {**first_texts(Facts(), []), "port": PORT, **texts}


def test_what_a_stage_starts_with() -> None:
    can = Facts({"intake": Intake(frame="35 mm can")})
    assert first_texts(can, [])["turn"] == "48"  # 7.5 degrees (common practice)
    label = Facts({"intake": Intake(label="5 V 1 A 0.9 deg/step")})
    assert first_texts(label, [])["turn"] == "400"
    assert first_texts(Facts({"ratings": Ratings(step_angle_degree=3.6)}), [])["turn"] == "100"
    corrected = Facts({"ratings": Ratings(step_angle_degree=3.6), "intake": Intake(step_angle_degree=0.9)})
    assert first_texts(corrected, [])["turn"] == "400"  # as at every stage, the intake's counts
    assert first_texts(Facts(), [])["acceleration"] == "5000"


def test_settings_are_read() -> None:
    setting = read_setting(texts_with(microsteps="16", turn="48", acceleration="900", watch="sensor"))
    assert setting.drive == Drive(microsteps=16) and setting.acceleration_sps2 == 900
    assert setting.shaft == Shaft(48, sensor=True) and setting.url == f"{PORT}&microsteps=16"
    assert read_setting(texts_with(gear="4", turn="48")).url == f"{PORT}&gear=4"
    assert read_setting(texts_with(gear="4", turn="48", flag_on="rotor")).url == PORT
    assert read_setting(texts_with(port="/dev/ttyS1", microsteps="8")).url == "/dev/ttyS1"


@pytest.mark.parametrize(
    ("texts", "says"),
    [
        ({"microsteps": "0"}, "1 to 256"),
        ({"turn": "two"}, "whole number"),
        ({"acceleration": ""}, "whole number"),
        ({"port": " "}, "no port is named"),
        ({"turn": "48", "gear": "64"}, "rotor's side"),
    ],
)
def test_what_can_not_be_read_is_said(texts: dict[str, str], says: str) -> None:
    with pytest.raises(InputProblem, match=says):
        read_setting(texts_with(**texts))


def test_a_port_must_be_chosen() -> None:
    with pytest.raises(InputProblem, match="choose the port"):
        read_setting(first_texts(Facts(), []))


@pytest.mark.parametrize(("text", "gear"), [("1", 1), ("63,68", 63.68), (" 25792/405 ", 25792 / 405)])
def test_gears_as_people_write_them(text: str, gear: float) -> None:
    assert gear_of(text) == pytest.approx(gear)


@pytest.mark.parametrize("text", ["", "x", "1/0", "nan", "inf", "-3", "0"])
def test_what_is_no_gear(text: str) -> None:
    with pytest.raises(InputProblem, match="gear"):
        gear_of(text)


def test_ports_in_plain_words() -> None:
    assert port_words("/dev/ttyACM0", "[/x] board", 0x2341) == "ttyACM0: [/x] board"
    assert "no USB board" in port_words("/dev/ttyS0", "n/a", None)


def test_what_is_to_be_seen_to_is_confirmed_once_before_a_real_motor_moves(desk: Desk) -> None:
    assert connected(desk).to_see_to == ()  # a virtual one hurts nobody
    stage = JogStage(desk, opener=lambda url, drive, shaft: open_board(PORT, drive, shaft))
    for _ in range(2):  # a board that is connected anew may have another motor on it
        do(stage, stage.connect({**stage.texts(), "port": "/dev/ttyUSB0"}))
        assert any("clamped" in each for each in stage.to_see_to) and any("space" in each for each in stage.to_see_to)
        stage.seen_to = True
        assert stage.to_see_to == ()
    stage.close()
