"""What the stages know of one motor, taken together: what a later stage starts from."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from coilbench.errors import InputProblem
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Windings
from coilbench.stages.form import FieldProblem
from coilbench.winding.engine.catalogue import CATALOGUE, Arrangement

if TYPE_CHECKING:
    from coilbench.rating.wiring import Phase
    from coilbench.stages.picture import HookedUp

USUAL_STEP_DEGREE = 1.8  # of a hybrid; common practice


_AS_RATED = 1.15  # a winding's tolerance and a label's rounding


class AsConnected(NamedTuple):
    """Per phase as connected: current, resistance and inductance; None where not known.

    ``current_ampere`` is the peak to set, ``rated_ampere`` the rating, RMS, two phases on: the same figure, unless
    the driver carries less.

    ``half_winding``: the figures are those of one half-winding, no connection is chosen yet. ``basis`` says where
    they come from. ``own_volt`` is the voltage that its winding is made for, as its label says and its ohms bear out.
    """

    current_ampere: float | None = None
    coil_ohm: float | None = None
    inductance_henry: float | None = None
    connection: str | None = None
    half_winding: bool = False
    basis: str = ""
    rated_ampere: float | None = None
    leads: int | None = None
    own_volt: float | None = None


def as_connected(known: Facts) -> AsConnected:
    """What a driver has to do with: the chosen connection first, then the ratings, then the windings."""
    found = _per_phase(known)
    rated = _rated_ampere(known, found)
    return found._replace(rated_ampere=rated, leads=two_phase_leads(known), own_volt=own_volt(known))


def _rated_ampere(known: Facts, found: AsConnected) -> float | None:
    from coilbench.rating.connections import FACTORS

    ratings = known.get(Ratings)
    if found.connection is None or ratings is None or ratings.current_ampere is None:
        return found.current_ampere
    factor = {str(name): each.ampere for name, each in FACTORS.items()}.get(found.connection, 1.0)
    return max(ratings.current_ampere * factor, found.current_ampere or 0.0)


def own_volt(known: Facts) -> float | None:
    """The voltage a winding is made for: its label's, where that gives no more current than its rating allows.

    Some labels print the supply's voltage, which the winding by itself could not stand.
    """
    from coilbench.rating.label import kept_label

    intake, ratings = known.get(Intake) or Intake(), known.get(Ratings) or Ratings()
    label = kept_label(intake.label)
    ohm = ratings.resistance_ohm or half_winding_ohm(known)
    if label is None or label.volt is None or ohm is None:
        return None
    most = [each for each in (ratings.high_ampere, label.ampere) if each is not None]
    return label.volt if most and label.volt / ohm <= _AS_RATED * max(most) else None


def _per_phase(known: Facts) -> AsConnected:
    ratings, connection = known.get(Ratings), known.get(Connection)
    plain_coils = arrangement(known).two_phase == "plain"
    if connection is not None:
        henry = connection.inductance_henry or _measured_as(known, connection.connection)
        figures = connection.current_ampere, connection.resistance_ohm, henry
        return AsConnected(*figures, connection.connection, basis=f"its connection, {connection.connection}")
    if ratings is not None:
        figures_of_one = ratings.current_ampere, ratings.resistance_ohm, half_winding_henry(known)
        if plain_coils:
            return AsConnected(*figures_of_one, "bipolar", basis="its ratings")
        basis = "its ratings for one half-winding; choose the connection first"
        return AsConnected(*figures_of_one, half_winding=True, basis=basis)
    if plain_coils and (ohm := half_winding_ohm(known)) is not None:
        return AsConnected(
            None, ohm, half_winding_henry(known), "bipolar", basis="its windings; no current is known yet"
        )
    return AsConnected()


def _measured_as(known: Facts, connection: str) -> float | None:
    """The measured inductance of a motor that is connected so."""
    measured = measured_half(known)
    if measured is None:
        return None
    from coilbench.rating.connections import FACTORS

    return measured.henry * {str(name): each.henry for name, each in FACTORS.items()}.get(connection, 1.0)


def arrangement(known: Facts) -> Arrangement:
    """The record of the motor's winding; that of unlisted ones while it isn't known."""
    windings = known.get(Windings)
    return CATALOGUE.find(windings.arrangement if windings is not None else None)


def two_phase_leads(known: Facts) -> int | None:
    """How many leads the sorted two-phase motor has; None for anything else."""
    found = arrangement(known)
    return found.terminals if found.drivable else None


def lead_count(text: str) -> int | None:
    """The leads of a two-phase motor as typed, None for nothing. Raises FieldProblem for the field ``leads``."""
    text = text.strip()
    if text and text not in ("4", "5", "6", "8"):
        raise FieldProblem("leads", f"{text!r}: expected 4, 5, 6 or 8, those of a two-phase motor")
    return int(text) if text else None


def _tap_lost(windings: Windings, known: Facts) -> bool:
    return arrangement(known).tapped and any(fault.kind == "broken-lead" for fault in windings.faults)


def half_winding_ohm(known: Facts) -> float | None:
    """Mean ohms of a coil or half-winding as measured; None where not measured.

    Ohms are end to end; a tapped coil is two halves, also when its tap broke off. One with an open half is listed by
    the half that is left.
    """
    windings = known.get(Windings)
    if windings is None:
        return None
    tap_lost = _tap_lost(windings, known)
    halves = [coil.ohms / (2 if coil.tap or tap_lost else 1) for coil in windings.coils if coil.ohms]
    return sum(halves) / len(halves) if halves else None


class Measured(NamedTuple):
    """An inductance measured on clips: henry and its standard deviation."""

    henry: float
    sd: float

    @property
    def words(self) -> str:
        """The figure and where it comes from."""
        from coilbench.winding.drawing.figures import henries

        return f"inductance {henries(*self)}: by the rise of its current on the clips"


def measured_half(known: Facts) -> Measured | None:
    """Inductance of a coil or half-winding as a board measured it; None where it didn't. End to end is four times a
    half, but for what leaks."""
    windings = known.get(Windings)
    coils = [] if windings is None else windings.coils
    tap_lost = windings is not None and _tap_lost(windings, known)
    shares = [(coil, 4 if coil.tap or tap_lost else 1) for coil in coils]
    told = [
        Measured(coil.henry / share, coil.henry_sd / share)
        for coil, share in shares
        if coil.henry is not None and coil.henry_sd is not None
    ]
    if not told:
        return None
    return Measured(sum(one.henry for one in told) / len(told), sum(one.sd for one in told) / len(told))


def half_winding_henry(known: Facts) -> float | None:
    """Inductance of a coil or half-winding: as told with the ratings, else as measured; None where neither was."""
    ratings, measured = known.get(Ratings), measured_half(known)
    told = None if ratings is None else ratings.inductance_henry
    return told or (None if measured is None else measured.henry)


def told_inductance(known: Facts) -> bool:
    """Whether the person told an inductance, at the ratings or at the connection: it goes before a measured one."""
    ratings, connection = known.get(Ratings), known.get(Connection)
    typed = {} if connection is None else connection.typed
    return (ratings is not None and ratings.inductance_henry is not None) or "inductance" in typed


def step_angle_degree(known: Facts) -> float | None:
    """The step angle: as printed or entered with the motor, then as rated, then as its label says."""
    from coilbench.rating.label import kept_label

    intake, ratings = known.get(Intake) or Intake(), known.get(Ratings) or Ratings()
    if angle := intake.step_angle_degree or ratings.step_angle_degree:
        return angle
    label = kept_label(intake.label)
    return None if label is None else label.step_angle_degree


def rated_holding_per_ampere(known: Facts) -> float | None:
    """Holding torque, two phases on, over the current of one half-winding; None where it isn't known."""
    ratings = known.get(Ratings)
    if ratings is None or ratings.holding_torque_newton_metre is None or ratings.estimate_ampere is None:
        return None
    return ratings.holding_torque_newton_metre / ratings.estimate_ampere


def holding_per_ampere(known: Facts) -> float | None:
    """Holding torque, two phases on, over the current of the winding as connected; None where it isn't known.

    Joined in series both halves carry the current, in parallel each carries half of it.
    """
    constant, connection = rated_holding_per_ampere(known), known.get(Connection)
    turns = 2.0 if connection is not None and connection.connection == "series" else 1.0
    return None if constant is None else turns * constant


def face_metre(known: Facts) -> float | None:
    """Across the motor's face, as entered; None where it isn't known or can't be read."""
    from coilbench.rating.frames import parse_frame

    intake = known.get(Intake)
    if intake is None:
        return None
    if intake.diameter_metre is not None:
        return intake.diameter_metre
    try:
        return None if intake.frame is None else parse_frame(intake.frame).face_metre
    except InputProblem:
        return None


def usual_inductance(known: Facts, coil_ohm: float) -> float:
    """The inductance that is usual for a winding of so many ohms as connected, in henry."""
    from coilbench.rating import typical

    joined = as_connected(known).connection  # None while figures are those of one half-winding
    if joined == "series":  # four times that of a half with half the ohms
        return 4 * typical.usual_inductance(coil_ohm / 2, face_metre(known), whole_winding=False)
    if joined == "parallel":
        return typical.usual_inductance(2 * coil_ohm, face_metre(known), whole_winding=False)
    return typical.usual_inductance(coil_ohm, face_metre(known), whole_winding=joined == "bipolar")


def phases(known: Facts) -> tuple[Phase, ...]:
    """The phases with pairing and sense; empty while they aren't known."""
    from coilbench.rating import wiring

    windings, order = known.get(Windings), known.get(Order) or Order()
    if windings is None:
        return ()
    match arrangement(known).two_phase:
        case "plain":
            return wiring.plain_phases([coil.ends for coil in windings.coils])
        case "tapped":
            return wiring.tapped_phases([(coil.ends, coil.tap) for coil in windings.coils])
        case "halves":
            return wiring.paired_phases(order.halves or {})
        case "common":
            return wiring.phases_around(windings.common or "", order.sequence)
    return ()


def hooked_up(known: Facts, connection: str = "") -> HookedUp | None:
    """The motor as this ``connection`` wires it, without one as its saved one does; None while there is none, or
    leads can't be named."""
    from coilbench.rating.wiring import CONNECTIONS, wires
    from coilbench.stages.picture import HookedUp

    saved, found, idle = known.get(Connection), phases(known), idle_leads(known)
    wanted = connection or ("" if saved is None else saved.connection)
    way = next((each for each in CONNECTIONS if each == wanted), None)
    if way is None or not found:
        return None
    return HookedUp(found, wires(way, found, idle), idle)


def idle_leads(known: Facts) -> tuple[str, ...]:
    """The leads that belong to no coil: spares, and those that a break has cut off."""
    windings = known.get(Windings)
    if windings is None:
        return ()
    used = {lead for coil in windings.coils for lead in (*coil.ends, coil.tap)}
    return (*windings.spare, *(lead for fault in windings.faults for lead in fault.leads if lead not in used))
