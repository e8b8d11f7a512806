"""The demo's board: a virtual one, with a motor about the size of the one on the desk, driven as that one is set."""

from __future__ import annotations

from coilbench.board.link.ports import VIRTUAL, PortChoice, with_options
from coilbench.board.virtual.crate import port_motor, port_name
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.ratings import Ratings


def is_can(known: Facts) -> bool:
    """Whether the motor is a round can, by what was seen of it."""
    intake = known.get(Intake)
    return intake is not None and (intake.frame or "").strip().lower().endswith("can")


FAST = "clock=20"


def virtual_ports(known: Facts, options: str = "") -> list[PortChoice]:
    """The virtual board as it is, and twenty times as fast, unless ``options`` say how its time passes."""
    usual = virtual_port(known, options)
    if "clock=" in options:
        return [usual]
    quick = virtual_port(known, "&".join(filter(None, (options, FAST))))
    return [usual, PortChoice(quick.url, "the same, twenty times as fast")]


def virtual_port(known: Facts, options: str = "") -> PortChoice:
    """The port of a virtual board that turns a motor of this size; ``options`` are more of its URL."""
    intake = known.get(Intake)
    name = port_name(None if intake is None else intake.frame)
    url = f"{VIRTUAL}{name}{f'?{options}' if options else ''}"
    return PortChoice(with_options(url, _drive_options(known, name)), "virtual board and motor")


def _drive_options(known: Facts, name: str) -> dict[str, str]:
    """The driver's limit and supply, as set for the motor on the desk.

    The motor that stands in takes the same share of its own rating as that one does of its.
    """
    driver = known.get(Driver)
    if driver is None:
        return {}
    peak = driver.peak_ampere
    mechanics = port_motor(name).mechanics
    if mechanics is not None and (rated := _rated_ampere(known)):
        peak *= mechanics.body.figures.rated_current_ampere / rated
    supply = {"supply": f"{driver.supply_volt:g}"} if driver.supply_volt else {}
    return {"current": f"{peak:.4g}", **supply}


def _rated_ampere(known: Facts) -> float | None:
    """What one phase of the motor takes as it is connected, both on."""
    connection, ratings = known.get(Connection), known.get(Ratings)
    if connection is not None and connection.current_ampere:
        return connection.current_ampere
    return None if ratings is None else ratings.current_ampere
