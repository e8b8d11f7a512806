"""What a motor's saved windings leave of it: every later stage goes by this."""

from __future__ import annotations

from coilbench.errors import Fault
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.windings import Windings
from coilbench.winding.engine.fitness import Fitness, fitness


def fitness_of(known: Facts) -> Fitness:
    """What the motor can be used for; everything while nothing is known."""
    return fitness(known.get(Windings))


def check_usable(known: Facts) -> Fitness:
    """The same, for a stage that is about to rate, wire or drive it. Raises Fault where it can't be used."""
    found = fitness_of(known)
    if not found.usable:
        raise Fault(found.says, title="Not to be used", remedy="; ".join(filter(None, (found.why, found.remedy))))
    return found
