"""A motor in one line: what is known of it so far, each part with the stage that it comes from."""

from __future__ import annotations

from typing import NamedTuple

from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Jog
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings

UNKNOWN = "–"


class StripPart(NamedTuple):
    """One thing that is known, or what isn't yet, with a dash."""

    stage: str
    text: str
    is_known: bool


def strip_of(known: Facts) -> tuple[StripPart, ...]:
    """Windings, ohms, current, connection, reference voltage and rates, in the order of the bench."""
    return (
        _part("windings", "windings", _windings(known)),
        _part("windings", "ohms", _ohms(known)),
        _part("ratings", "current", _current(known)),
        _part("connection", "connection", _connection(known)),
        _part("driver", "VREF", _driver(known)),
        _part("jog", "rates", _rates(known)),
    )


def strip_text(known: Facts) -> str:
    """The same as one line of text."""
    return " · ".join(part.text for part in strip_of(known))


def _part(stage: str, name: str, says: str) -> StripPart:
    return StripPart(stage, says or f"{name} {UNKNOWN}", bool(says))


def _windings(known: Facts) -> str:
    windings = known.get(Windings)
    return "" if windings is None else windings.arrangement


def _ohms(known: Facts) -> str:
    from coilbench.stages.motor import arrangement, half_winding_ohm

    ohm = half_winding_ohm(known)
    if ohm is None:
        return ""
    whole = arrangement(known).two_phase in (None, "plain")
    return f"{_shown(ohm, 'ohm')}{'' if whole else ' a half'}"


def _current(known: Facts) -> str:
    ratings = known.get(Ratings)
    return "" if ratings is None or ratings.current_ampere is None else _shown(ratings.current_ampere, "ampere")


def _connection(known: Facts) -> str:
    connection = known.get(Connection)
    return "" if connection is None else connection.connection


def _driver(known: Facts) -> str:
    driver = known.get(Driver)
    if driver is None:
        return ""
    return driver.chip if driver.vref_volt is None else f"VREF {_shown(driver.vref_volt, 'volt')}"


def _rates(known: Facts) -> str:
    """Start-stop and slew rate of the drive used last, in full steps a second."""
    jog = known.get(Jog)
    if jog is None or not jog.drives:
        return ""
    found = jog.drives[0]
    run = found.working_rate_sps or found.run_rate_sps
    if found.start_rate_sps is None and run is None:
        return ""
    start, fastest = (UNKNOWN if rate is None else f"{rate:.0f}" for rate in (found.start_rate_sps, run))
    return f"rates {start}/{fastest}"


def _shown(value: float, unit: str) -> str:
    from coilbench.quantity import format_quantity

    return format_quantity(value, unit, 3)
