"""The conversation with a board, logged on disk and read again, to find out what went wrong."""

from __future__ import annotations

import contextlib
import json
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from coilbench.board.link.frames import Bare, Broken, Decoder, Frame, Item
from coilbench.board.link.link import ConversationLog
from coilbench.board.link.messages import MOVING_VERBS, sketch_version
from coilbench.errors import InputProblem

# About an hour of moves; the one before is kept beside it.
MOST_BYTES = 4_000_000
_MOST_READ_BYTES = 64_000_000  # a log that was asked for has no end of its own

_FLAWS = {"long": "over-long", "check": "check wrong", "form": "no frame"}


class QuietLog(ConversationLog):
    """A log that raises nothing while it is written: it ends at ``MOST_BYTES``, or when the disk is full."""

    def __init__(self, path: Path, most_bytes: int) -> None:
        super().__init__(path)
        self._left = most_bytes

    def add(self, at_s: float, who: str, data: bytes) -> None:
        """Note ``data`` while there is room."""
        self._left -= len(data) + 50
        if self._left > 0:
            with contextlib.suppress(OSError, ValueError):
                super().add(at_s, who, data)

    def close(self) -> None:
        """End the log."""
        with contextlib.suppress(OSError):
            super().close()


def kept_log(path: Path, most_bytes: int = MOST_BYTES) -> ConversationLog | None:
    """A fresh log at ``path``, the last one moved aside; None where that can't be written."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        if path.exists():
            path.replace(path.with_stem(f"{path.stem}-before"))
        return QuietLog(path, most_bytes)
    except OSError:
        return None


@dataclass(frozen=True)
class Said:
    """One line of the conversation: when (seconds), who (bench or board), the line, and what is wrong with it."""

    at_s: float
    who: str
    line: str
    flaw: str
    item: Item

    def as_dict(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {"at": self.at_s, "from": self.who, "said": self.line, "flaw": self.flaw or None}


def read_conversation(path: Path) -> list[Said]:
    """The lines of a log in the order in which they were complete, times from the first. Raises InputProblem."""
    try:
        with path.open("rb") as file:
            data = file.read(_MOST_READ_BYTES + 1)
        text = data.decode("ascii")
    except (OSError, UnicodeDecodeError) as problem:
        why = getattr(problem, "strerror", None) or "it isn't plain text"
        raise InputProblem(f"{path} can't be read: {why}") from None
    if len(data) > _MOST_READ_BYTES:
        raise InputProblem(f"{path} is larger than any conversation with a board, {_MOST_READ_BYTES // 1_000_000} MB")
    lines = text.splitlines()
    # A bench that was killed may have written half of its last line.
    if lines and not text.endswith("\n"):
        lines.pop()
    begun = {"bench": bytearray(), "board": bytearray()}
    told: list[Said] = []
    for number, line in enumerate(lines, 1):
        try:
            entry = json.loads(line)
            who, at_s, data = entry["from"], float(entry["at"]), entry["said"].encode("latin-1")
            half = begun[who]
        except (ValueError, KeyError, TypeError, AttributeError):
            raise InputProblem(
                f"{path}, line {number}: {line[:40]!r} is no part of a conversation with a board, expected one JSON "
                'object with "at", "from" and "said"'
            ) from None
        half += data
        *whole, rest = bytes(half).split(b"\n")
        told += [said for each in whole if (said := _said(at_s, who, each)) is not None]
        half[:] = rest
    begin_s = told[0].at_s if told else 0.0
    return [replace(said, at_s=round(said.at_s - begin_s, 4)) for said in told]


def _said(at_s: float, who: str, line: bytes) -> Said | None:
    items = list(Decoder().feed(line + b"\n"))
    if not items:
        return None  # an empty line ends what noise left open
    shown = "".join(letter if letter.isprintable() else "." for letter in line.decode("latin-1").rstrip("\r"))
    item = items[0]
    flaw = _FLAWS.get(item.flaw, item.flaw) if isinstance(item, Broken) else ""
    return Said(at_s, who, shown, flaw, item)


def in_short(told: Sequence[Said]) -> list[str]:
    """What became of it, in a few lines: how long, who, moves and how they ended, refusals, faults, broken lines."""
    if not told:
        return ["nothing was said"]
    frames = [(said, said.item) for said in told if isinstance(said.item, Frame)]
    lines = [f"{told[-1].at_s - told[0].at_s:.1f} s, {len(told)} lines"]
    for _, frame in frames:
        sketch = frame.fields.get("sketch")
        if frame.kind == "yes" and frame.word == "hello" and isinstance(sketch, int):
            lines.append(f"board: {frame.fields.get('chip')}, sketch {sketch_version(sketch)}")
            break
    asked = Counter(
        frame.word for _, frame in frames if frame.kind == "ask" and frame.word in (*MOVING_VERBS, "coil")
    )
    if asked:
        lines.append("asked for: " + ", ".join(f"{count} {word}" for word, count in asked.items()))
    ends = Counter(
        str(frame.fields.get("why")) for _, frame in frames if (frame.kind, frame.word) == ("tell", "stop")
    )
    if ends:
        lines.append("motions ended: " + ", ".join(f"{count} {why}" for why, count in ends.items()))
    for said, frame in frames:
        if frame.kind == "no" or (frame.kind == "tell" and frame.word in ("fault", "hello")):
            lines.append(f"{said.at_s:.3f} s: {said.line}")
    broken = Counter(said.who for said in told if said.flaw)
    lines += [f"broken lines from the {who}: {count}" for who, count in broken.items()]
    stops = sum(isinstance(said.item, Bare) and said.item.word == "stop" for said in told)
    if stops:
        lines.append(f"plain stops from the bench: {stops}")
    return lines
