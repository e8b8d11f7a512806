"""Taking back what was done to motors as a whole: a merge, a split, an archive, a note, a delete."""

from __future__ import annotations

from coilbench.records import tidying
from coilbench.records.store import Bin


def undo(bin: Bin) -> str | None:
    """Take back the latest: what it was, None where there is none. Raises InputProblem where it has changed since."""
    return tidying.step(bin, back=True)


def redo(bin: Bin) -> str | None:
    """Do again what undo took back last."""
    return tidying.step(bin, back=False)


def can_undo(bin: Bin) -> bool:
    """Whether there is something for ``undo``."""
    return not bin.read_only and bool(tidying.next_act(bin, back=True))


def can_redo(bin: Bin) -> bool:
    """Whether there is something for ``redo``."""
    return not bin.read_only and bool(tidying.next_act(bin, back=False))
