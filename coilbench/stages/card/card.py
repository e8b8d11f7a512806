"""A motor's card from what is known of it: the drawing, the leads, the figures, and what isn't known."""

from __future__ import annotations

from contextlib import suppress
from datetime import date

from coilbench.cautions import LIVE_DRIVER
from coilbench.errors import CoilbenchError
from coilbench.plain_text import shortened
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.windings import Windings
from coilbench.stages import motor
from coilbench.stages.card.rates import of_rates
from coilbench.stages.card.sections import (
    of_connection,
    of_driver,
    of_motor,
    of_rating,
    of_windings,
    setting,
    steps_words,
)
from coilbench.stages.card.state import Card, Label
from coilbench.stages.card.wired import lead_lines, picture_of
from coilbench.stages.desk import Desk
from coilbench.stages.driver.chips import marking
from coilbench.stages.fitness import fitness_of
from coilbench.stages.outdated import outdated

_SAME = 0.01  # relative
CAUTIONS = (
    LIVE_DRIVER,
    "supply off before you join or part leads; a fuse in the supply's lead",
    "motor and driver may be too hot to touch; a shaft moves without warning",
)


def card_of(desk: Desk, day: date) -> Card:
    """The card of the desk's motor, dated ``day``. Looks, and writes nothing."""
    known, leads = desk.known, desk.leads
    fit, late = fitness_of(known), outdated(desk)
    picture, drawn = picture_of(known, leads)
    lines = lead_lines(known, leads, motor.hooked_up(known) if fit.usable else None)
    sections = [of_motor(known), of_windings(known, desk.readings)]
    headline = ""
    if fit.usable:  # of one that is not to be powered nothing to set is told
        headline = _headline(desk, known)
        sections += [of_rating(known), of_connection(known), of_driver(known, headline), of_rates(known)]
    return Card(
        motor=desk.motor,
        kind=_kind(known),
        day=day.isoformat(),
        warnings=tuple(filter(None, (fit.line, late))),
        picture=picture,
        drawn=drawn,
        leads=lines,
        sections=tuple(sections),
        cautions=CAUTIONS if fit.usable else (),
        label=Label(
            motor=desk.motor,
            kind=_kind(known),
            leads=tuple((each.lead, each.goes or each.place) for each in lines if fit.usable),
            figures=_figures(known, headline, late) if fit.usable else (),
            stop="" if fit.usable else fit.says,
            day=day.isoformat(),
        ),
    )


def _kind(known: Facts) -> str:
    windings = known.get(Windings)
    return "windings not sorted yet" if windings is None else windings.arrangement


def _headline(desk: Desk, known: Facts) -> str:
    """What to set where that is no reference voltage, as the driver's stage says it now; empty where it would set
    another current than is kept."""
    from coilbench.stages.driver.stage import DriverStage

    saved = known.get(Driver)
    if saved is None or saved.vref_volt is not None:
        return ""
    stage = DriverStage(desk)
    with suppress(CoilbenchError):
        answer = stage.answer(stage.texts())
        peak = None if answer.situation is None else answer.situation.setting.peak_ampere
        if peak is not None and answer.can_be_set and abs(peak - saved.peak_ampere) <= _SAME * saved.peak_ampere:
            return answer.headline
    return ""


def _figures(known: Facts, headline: str, late: str) -> tuple[str, ...]:
    """The label's figures: how it is connected, the current, what to set; what is out of date is said first."""
    from coilbench.quantity import format_quantity

    driver = known.get(Driver)
    lines = ["OUT OF DATE: work it out again"] if late else []
    lines.append(_current(known))
    if driver is None:
        lines.append("VREF not known")
    else:
        sense = f" {marking(driver.sense_ohm)}" if driver.sense_ohm else ""
        lines.append(f"{setting(driver) or headline or 'setting not known'} on {shortened(driver.chip, 16)}{sense}")
        supply = "" if driver.supply_volt is None else format_quantity(driver.supply_volt, "volt")
        lines += [", ".join(filter(None, (supply, steps_words(driver.microsteps))))]
    return tuple(filter(None, lines))


def _current(known: Facts) -> str:
    """The current to set, or while nothing is connected the one it is rated for."""
    from coilbench.quantity import format_quantity

    driver, connected = known.get(Driver), motor.as_connected(known)
    peak = connected.current_ampere if driver is None else driver.peak_ampere
    rated = connected.rated_ampere
    of_rating = "" if rated is None else f"rated {format_quantity(rated, 'ampere')} RMS"
    if peak is None:
        return "current not known"
    if driver is None and known.get(Connection) is None:
        return of_rating + (" a half-winding" if connected.half_winding else " a coil")
    return ", ".join(filter(None, (f"{format_quantity(peak, 'ampere')} peak", of_rating)))
