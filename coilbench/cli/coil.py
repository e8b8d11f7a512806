"""``coilbench coil``: how a coil's current dies, what a series resistor makes of it, what it rings with."""

from __future__ import annotations

import argparse

from coilbench.cli.kinds import add_kinds, answer_kind
from coilbench.stages.coil.fields import CAUTIONS, HOW, KINDS, SAYS

HELP = (
    "One coil by itself: how its current dies and what clamps it, L/R drive, inductance by resonance. "
    "Figures take units."
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """One parser a question, its options what can be said of the coil; its help ends with how, and the caution."""
    ends = {kind: f"{HOW.get(kind, '')} caution: {caution}.".strip() for kind, caution in CAUTIONS.items()}
    add_kinds(parser, KINDS, SAYS, ends)


def run(args: argparse.Namespace) -> int:
    """Reckon it; return the exit status."""
    from coilbench.stages.coil.answer import coil_answer

    return answer_kind(args, "coil", coil_answer, CAUTIONS[args.kind])
