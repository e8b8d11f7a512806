"""Windings and order: between those of the engine and those that are saved."""

from __future__ import annotations

from coilbench.records.saved.order import Order
from coilbench.records.saved.windings import Windings
from coilbench.winding.engine.verdict import Coil, Fault, Verdict
from coilbench.winding.order.types import OrderQuestion, OrderVerdict


def order_of(verdict: OrderVerdict) -> Order:
    """A verdict as it is kept."""
    return Order(
        ends=verdict.ends,
        sequence=verdict.sequence if verdict.done else (),
        reverse=verdict.reverse if verdict.done else (),
        phases=verdict.phases,
        halves=dict(verdict.phase_halves) or None,
        series=verdict.series_joins,
        parallel=verdict.parallel_joins,
        confidence=round(verdict.confidence, 6),
        tests=verdict.tests,
        done=verdict.done,
        direction_known=verdict.direction_known,
    )


def verdict_of(order: Order) -> OrderVerdict:
    """A kept order as the drawing and the words take it."""
    return OrderVerdict(
        ends=order.ends,
        sequence=order.sequence,
        reverse=order.reverse,
        phases=order.phases,
        confidence=order.confidence,
        next=None,
        done=order.done,
        tests=order.tests,
        direction_known=order.done and order.direction_known,
        halves_known=bool(order.halves),
        phase_halves=tuple((order.halves or {}).items()),
        series_joins=order.series,
        parallel_joins=order.parallel,
    )


def answers(order: Order, question: OrderQuestion) -> bool:
    """Whether a kept order tells all of what is asked, of these windings."""
    if not order.done or not order.sequence:
        return False
    if question.halves:
        kept = {frozenset(half) for halves in (order.halves or {}).values() for half in halves}
        return kept == {frozenset(half) for half in question.halves}
    phases = {frozenset(pair) for pair in question.phases}
    return set(order.sequence) == set(question.ends) and (
        not phases or {frozenset(order.sequence[::2]), frozenset(order.sequence[1::2])} == phases
    )


def all_proved(windings: Windings) -> bool:
    """Whether nothing is left to measure before the shaft is asked: every coil is proved by then."""
    return windings.next is None or all(coil.ohms is not None for coil in windings.coils)


def windings_verdict(windings: Windings, leads: tuple[str, ...]) -> Verdict:
    """The saved windings as the drawing and the words take them."""
    return Verdict(
        leads,
        windings.arrangement,
        windings.confidence,
        tuple(Coil(c.name, c.ends, c.tap, c.ohms, c.ohms_sd, alive=True) for c in windings.coils),
        windings.common,
        windings.spare,
        windings.cannot_tell,
        tuple(Fault(fault.kind, fault.leads, "") for fault in windings.faults),  # type: ignore[arg-type]
        sure=True,
        readings=max(1, windings.readings),
    )
