"""What a motor's saved windings leave of it: every later stage goes by this."""

from __future__ import annotations

from coilbench.records.saved.decode import plain
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.windings import Windings
from coilbench.winding.engine import fitness as engine
from coilbench.winding.engine.fitness import Fitness


def fitness_of(known: Facts) -> Fitness:
    """What the motor can be used for; everything while nothing is known."""
    return engine.fitness(plain(known.get(Windings)))


def check_usable(known: Facts) -> Fitness:
    """The same, for a stage that is about to rate, wire or drive it. Raises Fault where it can't be used."""
    return engine.check_usable(plain(known.get(Windings)))
