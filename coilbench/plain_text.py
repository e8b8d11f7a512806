"""Text from outside, made harmless: a label, a file or a paste must not drive the terminal, nor turn a line round.

Plain is what Unicode counts as printable: no control characters, no line ends, no bidirectional or invisible marks,
no half of a surrogate pair.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

LONGEST_LINE = 300  # of a message
# Any ASCII punctuation may be escaped by a backslash (CommonMark 0.31.2: Backslash escapes). These begin something.
_MARKS = re.compile(r"([\\`*_\[\]<>&|#~!@^$])")


def is_plain(text: str) -> bool:
    """Whether a text may be kept, drawn and printed as it stands."""
    return text.isprintable()


def inert(text: str) -> str:
    """``text`` for the screen or a message: what is not plain is spelt out (``\\x1b``), not obeyed."""
    return text if text.isprintable() else "".join(each if each.isprintable() else _spelt(each) for each in text)


def in_markdown(text: str) -> str:
    """Text that stands for itself in Markdown: no markup, no link made of an address."""
    return _MARKS.sub(r"\\\1", inert(text)).replace("://", r"\://")


def cleaned(text: str) -> str:
    """``text`` as it is kept when typed or pasted: spaces of all kinds and line ends as one space, the rest of what
    is not plain left out."""
    if text.isprintable():
        return text
    spaced = "".join(" " if each.isspace() else each for each in text.replace("\r\n", "\n"))
    return "".join(each for each in spaced if each.isprintable())


def shortened(text: str, most: int = LONGEST_LINE) -> str:
    """``text`` in at most ``most`` characters: the middle goes, for the end says what was expected."""
    if len(text) <= most:
        return text
    head = (most - 1) // 2
    return f"{text[:head]}…{text[head + 1 - most :]}"


def columns(rows: Iterable[Sequence[object]]) -> list[str]:
    """Rows as lines, inert, each column as wide as its content, two spaces apart."""
    cells = [[inert(str(cell)) for cell in row] for row in rows]
    widths = [max(map(len, column)) for column in zip(*cells, strict=True)]
    return ["  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip() for row in cells]


def _spelt(character: str) -> str:
    return character.encode("unicode_escape").decode("ascii")
