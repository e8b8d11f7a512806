"""``coilbench axis``: what an axis of a machine asks of its motor."""

from __future__ import annotations

import argparse

from coilbench.cli.kinds import add_kinds, answer_kind
from coilbench.stages.axis.fields import KINDS

HELP = "What an axis asks of its motor: steps per mm, torque, inertia, speed, limits. Figures take units."

_SAYS = {
    "screw": "a lead screw or threaded rod",
    "belt": "a toothed belt and its pulley",
    "rack": "a rack and its pinion",
    "drum": "a drum with a line",
    "table": "a thing that turns: a table, a disc",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One parser a kind of axis, its options the fields of the kind."""
    add_kinds(parser, KINDS, _SAYS)


def run(args: argparse.Namespace) -> int:
    """Reckon the axis; return the exit status."""
    from coilbench.stages.axis.answer import CAUTION, axis_answer

    return answer_kind(args, "axis", axis_answer, CAUTION)
