"""The torque of an axis's motor at speed, on the supplies at hand, with what the axis asks of it."""

from __future__ import annotations

from coilbench.errors import NotEnoughKnown
from coilbench.records.saved.own import OwnBench
from coilbench.stages.connection.at_hand import driver_at_hand
from coilbench.stages.machine.axis_fit import AxisFit
from coilbench.stages.torque_plot import Demand, TorquePlot, line_of, taken_as_usual, volts_at_hand


def torque_of_axis(fit: AxisFit, own: OwnBench) -> TorquePlot:
    """The motor of an axis, of two the weaker, on every supply at hand. Raises NotEnoughKnown where none is there."""
    if not fit.there:
        raise NotEnoughKnown(f"no motor is on {fit.axis.name!r}", remedy="its curve is drawn once one can be there")
    weaker = min(fit.there, key=lambda each: each.worth.margin)
    board, supply = fit.axis.driver, fit.axis.supply
    at_hand = driver_at_hand(board.at_hand)
    kind = board.kind or at_hand.kind or "bipolar"
    supplies = volts_at_hand(own, (supply.name, supply.volt))
    lines = []
    for name, volt in supplies:
        offers = weaker.motor.offers(at_hand, kind, volt, fine=fit.axis.fine)
        offer = next(each for each in offers if each.connection == weaker.offer.connection)
        lines.append(line_of(name, volt, offer.figures, offer.drive))
    asked = weaker.worth.asked
    rpm = 60 * asked.rate_sps / weaker.motor.steps_per_turn
    return TorquePlot(
        title=f"{weaker.motor.name} {weaker.offer.connection} on {fit.axis.name}",
        lines=tuple(lines),
        first=[volt for _, volt in supplies].index(supply.volt),
        demand=Demand(rpm, asked.total_newton_metre, fit.axis.wanted_margin),
        notes=taken_as_usual(weaker.motor.guessed),
    )
