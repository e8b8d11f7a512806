"""Whether what a stage keeps still follows from what the stages before it say now."""

from __future__ import annotations

from coilbench.errors import CoilbenchError
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.stages.desk import Desk

_SAME = 0.01  # relative; figures are kept with six digits, but shown and typed with three


def outdated(desk: Desk) -> str:
    """Which stage would keep another current now than it holds, in a line; empty where none. Nothing is written.

    A driver is named only once its connection holds, a jog's figure once its driver does: each is set by the other.
    """
    known = desk.known
    if Ratings.stage not in known:
        return _jog(known)
    for stage, amperes in (("connection", _connection_amperes), ("driver", _driver_amperes)):
        try:
            kept, now = amperes(desk, known)
        except CoilbenchError:  # the stage itself says why it can't be worked out
            return ""
        if kept is not None and now is not None and abs(kept - now) > _SAME * now:
            return _words(stage, kept, now)
    return _jog(known)


def _jog(known: Facts) -> str:
    """Which figure of the jog was found with another supply, current or microsteps than the driver has now."""
    from coilbench.stages.jog.found_with import stale_words

    jog = known.get(Jog)
    for figures in jog.drives if jog is not None else ():
        if figures.drive.kind == "driver":
            for question, then in figures.found_with.items():
                if changed := stale_words(then, known.get(Driver)):
                    return f"the jog's {question} was found with another setting ({changed}): find it again"
    return ""


def _connection_amperes(desk: Desk, known: Facts) -> tuple[float | None, float | None]:
    """The winding's current as kept, and as it would be kept now."""
    from coilbench.stages.connection.stage import ConnectionStage

    saved = known.get(Connection)
    if saved is None:
        return None, None
    stage = ConnectionStage(desk)
    picked = stage.answer(stage.texts()).picked
    return saved.current_ampere, None if picked is None else picked.usable_ampere


def _driver_amperes(desk: Desk, known: Facts) -> tuple[float | None, float | None]:
    """The peak current as kept, and as it would be kept now."""
    from coilbench.stages.driver.stage import DriverStage

    saved = known.get(Driver)
    if saved is None:
        return None, None
    stage = DriverStage(desk)
    situation = stage.answer(stage.texts()).situation
    return saved.peak_ampere, None if situation is None else situation.setting.peak_ampere


def _words(stage: str, kept: float, now: float) -> str:
    from coilbench.quantity import format_quantity

    before, after = (format_quantity(each, "ampere", 3) for each in (kept, now))
    return f"the {stage} is kept for {before}, now it comes to {after}: go there and save it again"
