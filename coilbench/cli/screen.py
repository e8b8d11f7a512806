"""``coilbench`` and ``coilbench demo``: the way from the command line to the screen."""

from __future__ import annotations

import gc
import os
import signal
import sys
from pathlib import Path

from coilbench.errors import InputProblem


def open_bench(bin_path: Path | None, *, demo: bool) -> int:
    """Open the bench; return its exit status. Raises InputProblem where there is no terminal to draw on."""
    need_a_screen()
    # Nothing is to be put in order yet: an interrupt ends it without a word, until the screen's watch takes over.
    signal.signal(signal.SIGINT, signal.SIG_DFL)
    # Next to nothing of what is made while starting is garbage; the app turns collecting on again once it stands.
    gc.disable()
    from coilbench.ui.app import run_bench

    return run_bench(bin_path=bin_path, demo=demo)


def need_a_screen() -> None:
    """Raises InputProblem without one: the bench draws on standard error's terminal and reads standard input's."""
    streams = (sys.__stdin__, sys.__stderr__)
    if os.environ.get("TERM") == "dumb" or not all(stream and stream.isatty() for stream in streams):
        raise InputProblem(
            "the bench needs a terminal that can draw, on standard input and standard error",
            remedy="`coilbench windings --ask` works on plain lines",
        )
