"""A lead in words and colour: the colour is never the only sign."""

from __future__ import annotations

from textual.content import Content

from coilbench.stages.leads import lead_css, lead_words


def lead_content(name: str) -> Content:
    """A lead in words, a swatch of its colours before them."""
    colours = lead_css(name)[:2]
    words = Content(lead_words(name))
    if not colours:
        return words
    blocks = [Content.styled("█" * (2 // len(colours)), css) for css in colours]
    return Content.assemble("▕", *blocks, "▏", words)
