"""What is known of a motor, as lines of text."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.plain_text import inert


def in_columns(known: Sequence[tuple[str, str]]) -> list[str]:
    """Labels in their column and what belongs to each beside it; what has no label stands alone."""
    room = max((len(label) for label, _ in known), default=0)
    return [f"{label:<{room}} {inert(text)}" if label else inert(text) for label, text in known]
