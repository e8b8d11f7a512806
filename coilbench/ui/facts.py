"""What is known of a motor, as lines for a narrow column."""

from __future__ import annotations

from coilbench.plain_text import inert


def fact(label: str, text: str) -> str:
    """A label in its column and what belongs to it; without a label the text alone."""
    return f"{label:<9} {inert(text)}" if label else inert(text)
