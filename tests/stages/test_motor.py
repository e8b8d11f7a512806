"""What later stages start from: the connection before the ratings before the windings."""

from __future__ import annotations

import pytest

from coilbench.records.saved.connection import Connection
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.stages import motor
from tests.support.motors import EIGHT, FIVE, FOUR, PAIRED, RATED, SIX, known


def test_what_a_driver_has_to_do_with() -> None:
    rated = Ratings(current_ampere=0.5, resistance_ohm=24.0, inductance_henry=0.02)
    half = motor.as_connected(known(SIX, rated))
    assert (half.current_ampere, half.coil_ohm, half.half_winding) == (0.5, 24.0, True)
    assert "choose the connection first" in half.basis
    chosen = motor.as_connected(known(SIX, rated, Connection(connection="series", current_ampere=0.35)))
    assert (chosen.current_ampere, chosen.connection, chosen.half_winding) == (0.35, "series", False)
    plain = motor.as_connected(known(FOUR))
    assert (plain.current_ampere, plain.coil_ohm, plain.connection) == (None, 2.4, "bipolar")
    assert motor.as_connected(known(FOUR, rated)).connection == "bipolar"
    assert motor.as_connected(known()) == motor.AsConnected()


def test_leads_and_ohms_of_a_half_winding() -> None:
    assert [motor.two_phase_leads(known(each)) for each in (FOUR, FIVE, SIX, EIGHT)] == [4, 5, 6, 8]
    assert motor.two_phase_leads(known()) is None
    assert motor.two_phase_leads(known(Windings(arrangement="three-phase-3"))) is None
    assert [motor.half_winding_ohm(known(each)) for each in (FOUR, FIVE, SIX, EIGHT)] == [2.4, 70.0, 24.1, 1.4]


def test_a_half_winding_of_a_faulty_motor() -> None:
    def of(arrangement: str, *coils: tuple[float | None, str | None], fault: str = "") -> float | None:
        listed = tuple(Coil(name="A", ends=("a", "b"), tap=tap, ohms=ohms) for ohms, tap in coils)
        faults = (WindingFault(kind=fault),) if fault else ()
        return motor.half_winding_ohm(known(Windings(arrangement=arrangement, coils=listed, faults=faults)))

    assert of("bipolar-4", (2.4, None), (2.6, None)) == pytest.approx(2.5)
    # One half broken off: what is left end to end is a half already.
    assert of("unipolar-6", (66, "t"), (33, None)) == 33
    # Its tap broken off, a coil is still two halves.
    assert of("unipolar-6", (66, None), (66, None), fault="broken-lead") == 33
    assert of("split-8", (1.4, None), (1.4, None), (None, None)) == pytest.approx(1.4)
    assert of("bipolar-4") is None and motor.half_winding_ohm(known()) is None
    assert motor.two_phase_leads(known(Windings(arrangement="five-phase-ring-5"))) is None


def test_the_step_angle_as_printed_then_rated_then_by_the_label() -> None:
    label = Intake(label="7.5 deg")
    assert motor.step_angle_degree(known(Intake(step_angle_degree=0.9), RATED)) == 0.9
    assert motor.step_angle_degree(known(label, RATED)) == 1.8
    assert motor.step_angle_degree(known(label)) == 7.5 and motor.step_angle_degree(known()) is None


def test_phases_once_they_are_known() -> None:
    assert [phase.name for phase in motor.phases(known(SIX))] == ["A", "B"]
    assert motor.phases(known(EIGHT)) == () and len(motor.phases(known(EIGHT, PAIRED))) == 2
    order = Order(sequence=("RD", "YE", "BU", "BK"), done=True)
    assert motor.phases(known(FIVE)) == () and len(motor.phases(known(FIVE, order))) == 2


def test_idle_leads() -> None:
    spare = Windings(
        arrangement="bipolar-4",
        coils=FOUR.coils,
        spare=("WH",),
        faults=(WindingFault(kind="broken-lead", leads=("YE",)),),
    )
    assert motor.idle_leads(known(spare)) == ("WH", "YE") and motor.idle_leads(known()) == ()
