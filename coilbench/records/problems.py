"""What can be wrong with a bin's file, and sqlite's errors put in those words."""

from __future__ import annotations

import contextlib
import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from shlex import quote

from coilbench.errors import Fault
from coilbench.records.check_values import DAMAGED_ROW

# Of sqlite's words those that speak of what the file holds.
_OF_DAMAGE = ("malformed", "no such", "duplicate column", "already exists", "decode", "unsupported file format")


class BinDamaged(Fault):
    """The file can't be read as a motor bin. It has been left as it was."""

    def __init__(self, path: Path, detail: str) -> None:
        super().__init__(
            f"the motor bin {path} is damaged ({detail}); it is left as it is",
            title="The motor bin is damaged",
            remedy=f"`coilbench --bin {quote(str(path))} bin export FILE` saves what is whole, then "
            "`bin check --set-aside` makes room for an empty one",
        )
        self.path = path


class BinNewer(Fault):
    """The file was written by a later coilbench. It has been left as it was."""

    def __init__(self, path: Path, version: int, known: int) -> None:
        super().__init__(
            f"the motor bin {path} is of schema {version}, this coilbench knows up to {known}; it is left as it is",
            title="The motor bin is from a newer coilbench",
            remedy="use the newer coilbench, or choose another file with --bin",
        )
        self.path = path


class BinUnreachable(Fault):
    """The file can't be opened or written now."""

    def __init__(self, path: Path, detail: str) -> None:
        super().__init__(
            f"the motor bin {path} can't be used: {detail}",
            title="The motor bin can't be used",
            remedy="check the folder, its rights and the space left, or choose another file with --bin",
        )
        self.path = path


class BinReadOnly(BinUnreachable):
    """The file can be looked at, not written."""

    def __init__(self, path: Path) -> None:
        super().__init__(path, "it may only be read; nothing was changed")
        self.title = "The motor bin may only be read"
        self.remedy = "make room where the disk is full; else copy the file into a folder of your own and use --bin"


class BinBusy(Fault):
    """Another program has held the file for too long. Nothing was changed."""

    def __init__(self, path: Path) -> None:
        super().__init__(
            f"the motor bin {path} is held by another program; nothing was changed",
            title="The motor bin is busy",
            remedy="try again, or close the other program",
        )
        self.path = path


@contextlib.contextmanager
def in_plain_words(path: Path) -> Iterator[None]:
    """Raise sqlite's errors as the faults above."""
    try:
        yield
    except sqlite3.OperationalError as problem:
        detail = str(problem)
        if "locked" in detail or "busy" in detail:
            raise BinBusy(path) from problem
        if any(words in detail for words in _OF_DAMAGE):
            raise BinDamaged(path, detail) from problem
        if "readonly" in detail:
            raise BinReadOnly(path) from problem
        raise BinUnreachable(path, detail) from problem
    except sqlite3.IntegrityError as problem:
        if DAMAGED_ROW in str(problem):
            raise BinDamaged(path, str(problem)) from problem
        raise
    except (sqlite3.DatabaseError, json.JSONDecodeError, UnicodeDecodeError) as problem:
        raise BinDamaged(path, str(problem)) from problem
    except OSError as problem:
        raise BinUnreachable(path, problem.strerror or str(problem)) from problem
