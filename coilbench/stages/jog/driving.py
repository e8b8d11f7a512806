"""Which drive turns this motor, how its leads go there, and what to mind: from what the other stages know."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from coilbench.board.session.drive import Drive, Kind
from coilbench.board.session.wiring import coil_wiring, driver_wiring
from coilbench.cautions import LIVE_DRIVER
from coilbench.errors import Fault
from coilbench.motion.trials import Shaft
from coilbench.rating.coil_lines import CoilLines, coil_cautions, coil_lines
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.stages.motor import arrangement, phases
from coilbench.winding.engine.verdict import NAMED_FROM

if TYPE_CHECKING:
    from coilbench.board.session.session import BoardFound

CLAMPED = "clamp it; fingers, hair, sleeves clear; space stops it"
_NO_CURRENT: Mapping[bool, str] = {
    True: "no current is set for this motor: turn the driver's limit to its lowest, or it may burn",
    False: "no current is known for this motor: begin with a low voltage, feel whether it gets hot",
}


def likely_kind(known: Facts) -> Kind:
    """What this motor is driven by: coil lines where it is connected unipolar, or can't be connected otherwise."""
    connection = _connection(known)
    on_common = arrangement(known).two_phase == "common"
    return "array" if connection == "unipolar" or (on_common and connection is None) else "driver"


def check_drivable(kind: Kind, known: Facts) -> None:
    """Raises Fault for a motor, known by its windings, that this drive can't turn."""
    windings = known.get(Windings)
    if windings is None or windings.arrangement == "unknown" or windings.confidence < NAMED_FROM:
        return
    two_phase = arrangement(known).two_phase
    happened, remedy = "", "choose another drive for it"
    if two_phase is None:
        happened = f"{windings.arrangement} is no two-phase stepper motor: nothing here can turn it"
        remedy = "it needs a driver made for its kind"
    elif kind == "bridge" and two_phase == "common":
        happened = "five leads share one common: they can't run from a bridge"
        remedy = "take the transistor array"
    elif kind == "array" and two_phase == "plain":
        happened = "two plain coils can't run from a transistor array"
        remedy = "take a step/direction driver or the dual H-bridge"
    elif kind == "driver" and two_phase == "common" and _connection(known) != "unipolar":
        happened = "five leads share one common: a bipolar driver can't take them"
        remedy = "take the transistor array, or choose a unipolar driver in the connection stage"
    if happened:
        raise Fault(happened, title="Not with this drive", remedy=remedy)


def drive_cautions(kind: Kind, known: Facts) -> tuple[str, ...]:
    """What to mind with this drive, beside what always holds."""
    connection = known.get(Connection)
    if kind == "driver":
        if connection is None or connection.connection != "unipolar":
            return ()
        return ("wired as drawn this motor needs a unipolar driver; a bipolar chopper can't drive it so",)
    ampere, ohm = (None, None) if connection is None else (connection.current_ampere, connection.resistance_ohm)
    return coil_cautions(kind, ampere, ohm)


def no_current_words(kind: Kind, known: Facts) -> str:
    """What to mind before the first turn where no current was worked out for this motor; else empty.

    A driver has a limit to set; coil lines take what supply and coil make.
    """
    driver, ratings = known.get(Driver), known.get(Ratings)
    by_driver = kind == "driver"
    set_to = (driver and driver.peak_ampere) if by_driver else (ratings and ratings.current_ampere)
    return "" if set_to else _NO_CURRENT[by_driver]


def lines_of_leads(kind: Kind, known: Facts) -> CoilLines:
    """The leads on a transistor array or a dual H-bridge."""
    assert kind != "driver"
    order = known.get(Order) or Order()
    need_order = arrangement(known).phases_need_order
    return coil_lines(kind, need_order, phases(known), order.sequence, _connection(known))


@dataclass(frozen=True)
class Setup:
    """What to wire where once a board is connected, and what to mind; ``unset``: no current is set."""

    wiring: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    unset: str = ""

    @property
    def mind(self) -> tuple[str, ...]:
        """All there is to mind, what matters most now first."""
        return tuple(filter(None, (*self.cautions, self.unset, LIVE_DRIVER, CLAMPED)))


def setup_of(board: BoardFound, kind: Kind, known: Facts, *, ascii: bool = False, sensor: bool = True) -> Setup:
    """What to wire where, by the board's own pins and the motor's leads, and what to mind."""
    if kind == "driver":
        connection = known.get(Connection)
        lines = driver_wiring(board.pins, connection.wiring if connection is not None else (), ascii=ascii)
    else:
        lines = coil_wiring(board.pins, kind, lines_of_leads(kind, known), ascii=ascii, sensor=sensor)
    return Setup(tuple(lines), drive_cautions(kind, known), no_current_words(kind, known))


def precautions(drive: Drive, shaft: Shaft, *, virtual: bool) -> list[tuple[str, str]]:
    """What to see to on plain lines before anything moves, each with what kind of thing it is; of a virtual motor
    the cautions alone."""
    from coilbench.motion.before import precautions

    # There Ctrl-C stops, not a key of the screen; and coil lines have no driver whose current could be set.
    elsewhere = {"stop", "current"} if drive.by_coils else {"stop"}
    return [
        ("caution" if each.kind == "caution" else "see that", each.text)
        for each in precautions(shaft)
        if each.key not in elsewhere and (not virtual or each.kind == "caution")
    ]


def confirmed(drive: Drive, shaft: Shaft) -> tuple[str, ...]:
    """What the screen has confirmed before anything moves."""
    from coilbench.motion.before import precautions

    elsewhere = {"current"} if drive.by_coils else set()
    return tuple(each.text for each in precautions(shaft) if each.kind != "caution" and each.key not in elsewhere)


def _connection(known: Facts) -> str | None:
    connection = known.get(Connection)
    return None if connection is None else connection.connection
