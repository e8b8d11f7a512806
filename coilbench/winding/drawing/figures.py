"""Words and figures of a drawing: cut to their room, and no more digits than are known."""

from __future__ import annotations

import unicodedata

from coilbench.plain_text import inert


def plain(text: str, *, ascii: bool = False) -> str:
    """Text that typed characters can't escape from: no control characters, in ASCII mode nothing beyond ASCII."""
    safe = inert(text)
    return safe.encode("ascii", "backslashreplace").decode("ascii") if ascii else safe


def cell_width(text: str) -> int:
    """Columns that a text takes on a terminal."""
    columns = 0
    for character in text:
        if unicodedata.combining(character) or unicodedata.category(character) in ("Mn", "Me", "Cf"):
            continue
        columns += 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1
    return columns


def fit(text: str, columns: int, cut: str = "…") -> str:
    """The text cut or padded to exactly ``columns`` columns; a cut is shown."""
    if cell_width(text) > columns:
        kept = ""
        for character in text:
            if cell_width(kept + character) > columns - 1:
                break
            kept += character
        text = kept + cut
    return text + " " * (columns - cell_width(text))


def percent(probability: float) -> str:
    """A probability in words of whole percent, never rounded up to certainty."""
    if probability > 0.99:
        return ">99 %"
    if 0.0 < probability < 0.01:
        return "<1 %"
    return f"{int(probability * 100 + 1e-9)} %"


def ohms(ohm: float | None, ohm_sd: float | None, *, ascii: bool = False) -> str:
    """A resistance with its uncertainty, to the digit where the uncertainty starts."""
    if ohm is None:
        return ""
    if ohm == float("inf"):
        return "open"
    if ohm_sd is None:
        return f"{ohm:.4g} {'ohm' if ascii else 'Ω'}"
    digits = 2 if ohm_sd < 0.095 else 1 if ohm_sd < 9.5 else 0
    shown_sd = max(ohm_sd, 10.0**-digits)  # a doubt that rounds to nothing is still one
    text = f"{ohm:.{digits}f} ±{shown_sd:.{digits}f} Ω"
    return text.replace("±", "+/-").replace("Ω", "ohm") if ascii else text


def wrapped(text: str, width: int, hanging: str = "  ") -> list[str]:
    """The text in lines no wider than ``width``, broken at blanks; a word too long for a line is cut into lines."""
    lines: list[str] = []
    current = ""
    for word in text.split():
        if current.strip() and cell_width(f"{current} {word}") > width:
            lines.append(current)
            current = hanging + word
        else:
            current = f"{current} {word}" if current.strip() else current + word
        while cell_width(current) > width:
            head = fit(current, width + 1, "")[:width]
            while cell_width(head) > width:
                head = head[:-1]
            lines.append(head)
            current = hanging + current[len(head) :]
    return [*lines, current] if current.strip() else lines


def henries(henry: float, henry_sd: float) -> str:
    """An inductance with its error, two standard deviations, to the two digits that this leaves."""
    return f"{float(f'{1e3 * henry:.2g}'):g} mH to {2 * henry_sd / henry:.0%}"
