"""Figures three rows high in plain characters, as a meter's display has them."""

from __future__ import annotations

_SEGMENTS = {  # left above, left below, right below, right above; top, middle, bottom
    "0": (" _ ", "| |", "|_|"),
    "1": ("   ", "  |", "  |"),
    "2": (" _ ", " _|", "|_ "),
    "3": (" _ ", " _|", " _|"),
    "4": ("   ", "|_|", "  |"),
    "5": (" _ ", "|_ ", " _|"),
    "6": (" _ ", "|_ ", "|_|"),
    "7": (" _ ", "  |", "  |"),
    "8": (" _ ", "|_|", "|_|"),
    "9": (" _ ", "|_|", " _|"),
    "-": ("   ", " _ ", "   "),
}


def seven_segments(text: str) -> tuple[str, str, str]:
    """Three rows; what a display has no segments for stands small on the lowest one."""
    shapes = [_SEGMENTS.get(each, (" " * len(each), " " * len(each), each)) for each in text]
    top, middle, bottom = (" ".join(rows).rstrip() for rows in zip(*shapes, strict=True)) if shapes else ("", "", "")
    return top, middle, bottom
