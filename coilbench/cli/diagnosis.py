"""``coilbench diagnosis``: what somebody who is asked for help needs to see."""

from __future__ import annotations

import argparse

from coilbench.records.diagnosis import diagnosis

HELP = "Versions, paths, terminal, settings and ports, to pass on with a question."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """It takes none of its own."""


def run(args: argparse.Namespace) -> int:
    """Print the text that one key of the bench copies."""
    print(diagnosis(args.bin))
    return 0
