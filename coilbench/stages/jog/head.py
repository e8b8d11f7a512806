"""What stands first at the jog: the rate under trial or found, the question beside it, and what to press."""

from __future__ import annotations

from typing import TYPE_CHECKING

from coilbench.records.saved.jog import Jog
from coilbench.stages.fitness import fitness_of
from coilbench.stages.head import Head
from coilbench.stages.table import NOT_TO_BE_USED

if TYPE_CHECKING:
    from coilbench.stages.jog.scene import Scene
    from coilbench.stages.jog.stage import JogStage


def head_of(stage: JogStage) -> Head:
    """The head of a jog wherever it stands."""
    told = tuple(f"{label}: {text}" for label, text in stage.known_now)
    fit = fitness_of(stage.desk.known)
    if stage.stand == "board" and not fit.usable:
        return Head(NOT_TO_BE_USED, "stop", doubt=fit.why, act=fit.remedy, why=told)
    if stage.stand == "board":
        return _of_setup(stage, told)
    if stage.stand == "wire":
        return Head("wire it as drawn, supply off", act="then F6: one slow turn", why=told)
    return _of_scene(stage.scene, told)


def _of_setup(stage: JogStage, told: tuple[str, ...]) -> Head:
    jog = stage.desk.known.get(Jog)
    found = jog.drives[0] if jog is not None and jog.drives else None
    rate = None if found is None else found.working_rate_sps or found.start_rate_sps
    act = "F5 connects the board"
    if found is None or rate is None:
        return Head("how fast does it start and run?", act=act, why=told)
    what = "run" if found.run_rate_sps else "start"
    low, high = found.interval or (None, None)
    doubt = "" if low is None or high is None else f"it loses steps between {low:.0f} and {high:.0f}"
    return Head(f"full steps/s: {what} at this rate", "answer", f"{rate:.0f}", doubt=doubt, act=act, why=told)


def _of_scene(scene: Scene, told: tuple[str, ...]) -> Head:
    under, *more = scene.under.splitlines() or [""]
    act = ""
    if scene.moving:
        act = "space stops it"
    elif scene.answers:
        act = "press the number of what you see" if scene.figure is not None else "press a number"
    elif scene.go:
        act = "g makes the next move"
    figure = "" if scene.figure is None else f"{scene.figure:.0f}"
    found = scene.prove and not scene.moving
    return Head(scene.title, "answer" if found else "question", figure, doubt=under, act=act, why=(*more, *told))
