"""What is to be seen of a jog at one moment: plain data, for a screen to draw or for lines."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, Protocol

from coilbench.records.saved.jog import Figures
from coilbench.stages.jog.figures import times
from coilbench.stages.jog.flag_answers import FELT_ANSWERS, FLAG_ANSWERS
from coilbench.stages.jog.search_at_work import SearchAtWork
from coilbench.stages.jog.searches import ANSWER_S, KIND_TITLES, Judged, found_words
from coilbench.stages.jog.setting import Setting
from coilbench.stages.jog.slow_turn import TURN_ANSWERS

if TYPE_CHECKING:
    from coilbench.board.session.jog import TurnEnd

WAYS = {
    "moving": "out",
    "resting": "a short rest",
    "returning": "coming back, slowly",
    "easing": "slowing down",
    "cooling": "a rest: the coils have been on long",
}

Stand = Literal["board", "wire", "turning", "turned", "choose", "search"]
Told = tuple[tuple[float, bool | None], ...]


class Standing(Protocol):
    """Where a jog stands, as far as it is seen (``stage.JogStage``)."""

    stand: Stand
    setting: Setting | None
    moving: bool
    way: str
    pause: str
    turn_end: TurnEnd | None
    search: SearchAtWork

    @property
    def shaft_answers(self) -> bool: ...

    @property
    def figures(self) -> Figures: ...


@dataclass(frozen=True)
class Curve:
    """Chance to skip over ``figures``: the fit's mean and the band it may lie in; ``rough`` while it is a guess."""

    figures: tuple[float, ...]
    mean: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]
    unit: str
    rough: bool


@dataclass(frozen=True)
class Scene:
    """``answers`` are (digit, words); ``go`` names the next move, ``meter`` offers that the virtual shaft answers.

    ``told`` are the figures tried with whether they skipped, ``present`` the one at work or asked about. ``moves`` of
    this search are made, about ``to_go`` are left.
    """

    title: str
    figure: float | None = None
    unit: str = ""
    under: str = ""
    says: str = ""
    answers: tuple[tuple[int, str], ...] = ()
    go: str = ""
    meter: bool = False
    choose: bool = False
    prove: bool = False
    moving: bool = False
    count: str = ""
    told: Told = ()
    present: float | None = None
    curve: Curve | None = None
    moves: int = 0
    to_go: int | None = None


def scene_of(stage: Standing) -> Scene:
    """The scene of a stage that is past its wiring."""
    if stage.stand == "turning":
        counts = stage.setting is not None and stage.setting.shaft.sensor
        seen = "round and round; the sensor counts" if counts else "once round, smoothly"
        says = stage.way if stage.way == WAYS["cooling"] else f"Watch the flag: {seen}."
        return Scene("one slow turn", says=says, moving=True)
    if stage.stand == "turned":
        return _turned_scene(stage)
    if stage.stand == "choose":
        return _choose_scene(stage.pause, stage.figures, stage.setting)
    if stage.search.judged is None:
        return Scene("working it out")
    return _search_scene(stage, stage.search, stage.search.judged)


def _choose_scene(pause: str, figures: Figures, setting: Setting | None) -> Scene:
    swing_hz = None if setting is None else setting.size_swing_hz
    says = "Resonance first, where it isn't known: it can pass for a limit. The others build on the start-stop rate."
    if swing_hz and not (figures.scanned or figures.swings):
        says += f" By its size the bare rotor swings near {swing_hz:.0f} steps/s: an estimate"
        says += "; 5 measures it." if setting is not None and setting.drive.pulses == 1 else "."
    if figures.scanned:
        says = "Now the start-stop rate: the others build on it."
    if figures.start_rate_sps:
        says = "Both rates are found; look again, or for more." if figures.run_rate_sps else "Next, the slew rate."
    if setting is not None and setting.run_expected and figures.start_rate_sps and not figures.run_rate_sps:
        says += f" {setting.run_expected}"
    answers = [
        (digit, f"{title}{found_words(kind, figures)}") for digit, (kind, title) in enumerate(KIND_TITLES.items(), 1)
    ]
    return Scene("what to find?", says=pause or says, answers=tuple(answers))


def _turned_scene(stage: Standing) -> Scene:
    turn, asked = stage.turn_end, "Which way, seen from the shaft's end?"
    if turn is not None and (turn.counted is not None or turn.uncounted):
        told = (
            f"The sensor counted {turn.counted.steps_per_turn:.5g} steps a turn." if turn.counted else turn.uncounted
        )
        return Scene(
            "did it turn smoothly?", says=f"{told}\n{asked}", answers=TURN_ANSWERS[:4], meter=stage.shaft_answers
        )
    return Scene("did it turn once, smoothly?", says=asked, answers=TURN_ANSWERS, meter=stage.shaft_answers)


def _search_scene(stage: Standing, search: SearchAtWork, judged: Judged) -> Scene:
    title = KIND_TITLES[search.kind]
    told: Told = tuple(
        (trial.tested, outcome.skipped)
        for trial, outcome in judged.answers
        if trial.question not in ("back", "swing")
    )
    curve = _curve(judged) if {True, False} <= {skipped for _, skipped in told} else None
    shown = search.asked or search.trial
    if shown is None:
        figure = judged.working
        under = f"{judged.unit}, working figure" if figure is not None else ""
        if judged.swing is not None:
            figure, under = judged.swing.hz, "Hz, small swings; in full steps as many steps/s"
        return Scene(
            f"{title}: {'done' if figure is None and judged.summary is None else 'found'}",
            figure,
            judged.unit,
            under,
            "\n".join((*judged.said, *judged.offers)),
            choose=True,
            prove=judged.working is not None,
            count=f"moves {judged.moves}",
            told=told,
            curve=curve,
            moves=judged.moves,
        )
    if search.proving:
        title = f"{title}: proving run"
    elif shown.question == "back":
        title = f"{title}: the way back"
    answer_s = getattr(judged.plan, "answer_s", ANSWER_S)
    minutes = max(1, round(judged.to_go * (shown.duration_s + answer_s) / 60))
    shaft = judged.plan.shaft
    turns = "" if search.kind == "acceleration" else f", {shown.tested / shaft.steps_per_turn:.2g} turns/s"
    proved = f"clean {times(judged.proved)} of {search.goal}: then {judged.goal_words(search.goal)}"
    left = f"moves {judged.moves}, about {judged.to_go} to go, {minutes} min{_guess_words(judged, told, curve)}"
    under = f"full {judged.unit}{turns}{_missed_words(judged)}"
    if shown.question == "swing":
        under = f"full {judged.unit} out, {shown.back_rate_sps:.0f} back"
    scene = Scene(
        title,
        shown.tested,
        judged.unit,
        under,
        count=proved if search.proving else left,
        told=told,
        present=shown.tested,
        curve=curve,
        moves=len(judged.answers),
        to_go=None if search.proving else judged.to_go,
    )
    why = f"\n{judged.why}" if judged.why and not search.proving else ""
    if stage.moving:
        way = "whole turns back" if shown.question == "back" else stage.way or "out fast, back slowly"
        return replace(scene, says=f"{way}{why}", moving=True)
    if search.asked is not None and shown.question == "swing":
        return replace(
            scene,
            title="on which way did it shake worse?",
            says="By fingertip or ear; one that stalls is worse. The next one starts at once.",
            answers=FELT_ANSWERS,
            meter=stage.shaft_answers,
        )
    if search.asked is not None:
        return replace(
            scene,
            title="did it turn, and end on its mark?"
            if shown.question == "back"
            else "did the flag come back to its mark?",
            says=f"One slip is 4 full steps, {shaft.jump_degree:.3g}°. After 0 the next move starts at once.",
            answers=FLAG_ANSWERS,
            meter=stage.shaft_answers,
        )
    return replace(scene, says=f"{stage.pause}{why}", go="go: next move", choose=True)


def _curve(judged: Judged) -> Curve | None:
    if judged.summary is None:
        return None
    curve = judged.summary.curve
    return Curve(curve.figures, curve.mean, curve.low, curve.high, judged.unit, judged.rough)


def _guess_words(judged: Judged, told: Told, curve: Curve | None) -> str:
    """How far what is drawn may be trusted; empty where it may."""
    if curve is None:
        return "" if judged.summary is None or not told else "\nfor a curve: one held, one lost"
    return "\nan estimate, between the lines" if curve.rough else ""


def _missed_words(judged: Judged) -> str:
    """What the sensor counted between its edges in the last move, where there is a sensor."""
    if not judged.answers or judged.answers[-1][1].missed_steps is None:
        return ""
    trial, outcome = judged.answers[-1]
    return f"\nlast, {trial.tested:.0f}: {abs(outcome.missed_steps or 0):.0f} steps lost"
