"""Files of a person's own: read as text with a limit, written wholly or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.plain_text import inert, shortened

MARKED_BYTES = 4096  # within which a card, a label or a sheet is known by its mark


def path_typed(text: str) -> Path:
    """The file that a person names, ``~`` for home. Raises InputProblem for what can be no file's name here."""
    try:
        path = Path(text.strip()).expanduser()
        path.exists()  # which a name that is too long, or a folder that is closed, refuses
    except (OSError, RuntimeError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or str(problem)
        raise InputProblem(f"{shortened(inert(text), 60)}: {reason}, expected a file's name") from None
    return path


def text_of(path: Path, most_bytes: int, expected: str, shown: str = "") -> str:
    """All of it; ``shown`` is its name in messages. Raises InputProblem for what isn't text of at most
    ``most_bytes``."""
    shown = shown or inert(path.name)
    try:
        if path.is_dir():
            raise InputProblem(f"{shown} is a directory, {expected}")
        with path.open("rb") as stream:
            raw = stream.read(most_bytes + 1)
    except FileNotFoundError:
        raise InputProblem(f"{shown}: no such file, {expected}") from None
    except (OSError, ValueError) as problem:
        reason = getattr(problem, "strerror", None) or "can't be opened"
        raise InputProblem(f"{shown}: {reason}, {expected}") from None
    return decoded(raw, shown, most_bytes, expected)


def decoded(raw: bytes, shown: str, most_bytes: int, expected: str) -> str:
    """Bytes as text. Raises InputProblem for more of them than ``most_bytes``, and for what isn't UTF-8."""
    if len(raw) > most_bytes:
        size = f"{most_bytes // 1024} kB" if most_bytes < 1_000_000 else f"{most_bytes // 1_000_000} MB"
        raise InputProblem(f"{shown} is larger than {size}, {expected}")
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        odd = f"byte 0x{raw[problem.start]:02x} is not UTF-8"
        raise InputProblem(f"{shown}, line {line}: {odd}, {expected} in UTF-8") from None


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
            if target.exists():
                shutil.copymode(target, name)  # who may read it is the person's choice
            os.replace(name, target.resolve())
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(name)
            raise
    except OSError as problem:
        raise InputProblem(f"{target}: {problem.strerror}, expected a file that can be written") from problem


def holds(path: Path, mark: bytes, within: int) -> bool:
    """Whether a file bears a mark within its first bytes, or is empty."""
    try:
        with path.open("rb") as stream:
            head = stream.read(within)
    except OSError:
        return False
    return not head or mark in head
