"""Which text reads on which colour."""

from __future__ import annotations


def readable_on(css: tuple[str, ...]) -> str:
    """Black or white, whichever reads better on all of these colours (relative luminance, WCAG 2.2)."""
    if not css:
        return "#000000"
    lights = [_luminance(colour) for colour in css]
    on_black = min((light + 0.05) / 0.05 for light in lights)
    on_white = min(1.05 / (light + 0.05) for light in lights)
    return "#000000" if on_black >= on_white else "#ffffff"


def _luminance(colour: str) -> float:
    """Relative luminance of ``#rrggbb``, 0 to 1."""
    channels = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [each / 12.92 if each <= 0.04045 else ((each + 0.055) / 1.055) ** 2.4 for each in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
