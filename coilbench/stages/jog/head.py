"""What stands first at the jog: the rate under trial or found, the question beside it, and what to press."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Jog
from coilbench.stages.fitness import fitness_of
from coilbench.stages.head import Head
from coilbench.stages.jog.scene import Scene
from coilbench.stages.stage import Known
from coilbench.stages.table import NOT_TO_BE_USED


def before_moving(facts: Facts, known: Iterable[Known], mind: Sequence[str], *, wired: bool) -> Head:
    """While the board is chosen, and then (``wired``) connected to driver and motor; of what there is to ``mind`` the
    first is on the screen anyway."""
    told, fit = (*(f"caution: {each}" for each in mind[1:]), *_told(known)), fitness_of(facts)
    if wired:
        return Head("wire it as drawn, supply off", act="then F6: one slow turn", why=told)
    if not fit.usable:
        return Head(NOT_TO_BE_USED, "stop", doubt=fit.why, act=fit.remedy, why=told)
    act = "F5 connects the board"
    jog = facts.get(Jog)
    found = jog.drives[0] if jog is not None and jog.drives else None
    rate = None if found is None else found.working_rate_sps or found.start_rate_sps
    if found is None or rate is None:
        return Head("how fast does it start and run?", act=act, why=told)
    what = "slew (pull-out) rate" if found.run_rate_sps else "start-stop (pull-in) rate"
    low, high = found.interval or (None, None)
    doubt = "" if low is None or high is None else f"it loses steps between {low:.0f} and {high:.0f}"
    return Head(f"full steps/s, {what}", "answer", f"{rate:.0f}", doubt=doubt, act=act, why=told)


def at_work(scene: Scene, known: Iterable[Known]) -> Head:
    """From the slow turn on."""
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
    return Head(
        scene.title, "answer" if found else "question", figure, doubt=under, act=act, why=(*more, *_told(known))
    )


def _told(known: Iterable[Known]) -> tuple[str, ...]:
    return tuple(f"{label}: {text}" for label, text in known)
