"""A file that an export is written to: never another's, and never half of one."""

from __future__ import annotations

import contextlib
import os
import tempfile
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records.exchange import FORMAT

_HEAD = 200  # bytes that an export is known by


def refuse_others(target: Path, bin_path: Path, *, force: bool) -> None:
    """Raise InputProblem for a file that is there, with ``force`` for one that is no earlier export; for the bin and
    what stands beside it always."""
    beside = (bin_path, *(bin_path.with_name(bin_path.name + ending) for ending in ("-wal", "-shm", "-journal")))
    if any(target.absolute() == each.absolute() or _same(target, each) for each in beside):
        raise InputProblem(f"{target} is the bin itself, expected another file")
    if not (target.exists() or target.is_symlink()):
        return
    if not force:
        raise InputProblem(
            f"{target} is there already", remedy="choose another name, or --force over an earlier export"
        )
    if target.is_file() and not _is_export(target):
        raise InputProblem(f"{target} is no earlier export, so it stays as it is", remedy="choose another name")


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


def _is_export(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            head = stream.read(_HEAD)
    except OSError:
        return False
    return not head or f'"{FORMAT}"'.encode() in head
