"""A file that an export is written to: never another's, and never half of one."""

from __future__ import annotations

import contextlib
from pathlib import Path

from coilbench.errors import Fault, InputProblem
from coilbench.records.exchange import FORMAT
from coilbench.records.files import MARKED_BYTES, holds
from coilbench.records.files import write_whole as write_whole
from coilbench.records.paths import bin_path

_HEAD = 200  # bytes that an export is known by


def refuse_others(target: Path, bin_: Path, *, force: bool) -> None:
    """Raise InputProblem for a file that is there, with ``force`` for one that is no earlier export; for the bin and
    what stands beside it always."""
    _refuse_bin(target, bin_)
    if not (target.exists() or target.is_symlink()):
        return
    if not force:
        raise InputProblem(
            f"{target} is there already", remedy="choose another name, or --force over an earlier export"
        )
    if target.is_file() and not _is_export(target):
        raise InputProblem(f"{target} is no earlier export, so it stays as it is", remedy="choose another name")


def refuse_all_but(target: Path, bin_: Path, mark: str, what: str) -> None:
    """Raise InputProblem for the bin, and for a file that is there and doesn't bear the mark of an earlier one."""
    _refuse_bin(target, bin_)
    if target.is_file() and not holds(target, mark.encode(), MARKED_BYTES):
        raise InputProblem(f"{target} is there already and {what}", remedy="choose another name")


def refuse_log(log: Path | None, bin_given: Path | None) -> None:
    """Raise InputProblem for a log in the place of the bin, or of what sqlite puts beside it."""
    if log is not None:
        with contextlib.suppress(Fault):  # no home folder, and so no bin either
            _refuse_bin(log, bin_given or bin_path())


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _refuse_bin(target: Path, bin_: Path) -> None:
    beside = (bin_, *(bin_.with_name(bin_.name + ending) for ending in ("-wal", "-shm", "-journal")))
    if any(target.absolute() == each.absolute() or _same(target, each) for each in beside):
        raise InputProblem(f"{target} is the bin itself, expected another file")


def _is_export(path: Path) -> bool:
    return holds(path, f'"{FORMAT}"'.encode(), _HEAD)
