"""A file that an export is written to: never another's, and never half of one."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records.exchange import FORMAT

_HEAD = 200  # bytes that an export is known by
_MARKED = 4096  # and a card or a label


def refuse_others(target: Path, bin_path: Path, *, force: bool) -> None:
    """Raise InputProblem for a file that is there, with ``force`` for one that is no earlier export; for the bin and
    what stands beside it always."""
    _refuse_bin(target, bin_path)
    if not (target.exists() or target.is_symlink()):
        return
    if not force:
        raise InputProblem(
            f"{target} is there already", remedy="choose another name, or --force over an earlier export"
        )
    if target.is_file() and not _is_export(target):
        raise InputProblem(f"{target} is no earlier export, so it stays as it is", remedy="choose another name")


def refuse_all_but(target: Path, bin_path: Path, mark: str, what: str) -> None:
    """Raise InputProblem for the bin, and for a file that is there and doesn't bear the mark of an earlier one."""
    _refuse_bin(target, bin_path)
    if target.is_file() and not _holds(target, mark.encode(), _MARKED):
        raise InputProblem(f"{target} is there already and {what}", remedy="choose another name")


def write_whole(target: Path, text: str) -> None:
    """Write a file wholly or not at all. Raises InputProblem where it can't be."""
    try:
        if target.exists() and not target.is_file():  # a pipe or a terminal
            target.write_text(text, encoding="utf-8")
            return
        number, name = tempfile.mkstemp(prefix=f".{target.name[:40]}.", dir=target.resolve().parent)
        try:
            with open(number, "w", encoding="utf-8") as stream:
                stream.write(text)
                stream.flush()
                os.fsync(number)
            os.replace(name, target.resolve())
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(name)
            raise
    except OSError as problem:
        raise InputProblem(f"{target}: {problem.strerror}, expected a file that can be written") from problem


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _refuse_bin(target: Path, bin_path: Path) -> None:
    beside = (bin_path, *(bin_path.with_name(bin_path.name + ending) for ending in ("-wal", "-shm", "-journal")))
    if any(target.absolute() == each.absolute() or _same(target, each) for each in beside):
        raise InputProblem(f"{target} is the bin itself, expected another file")


def _is_export(path: Path) -> bool:
    return _holds(path, f'"{FORMAT}"'.encode(), _HEAD)


def _holds(path: Path, mark: bytes, within: int) -> bool:
    """Whether a file bears a mark within its first bytes, or is empty."""
    try:
        with path.open("rb") as stream:
            head = stream.read(within)
    except OSError:
        return False
    return not head or mark in head
