"""Text from outside never drives a terminal, and a message stays a line."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.errors import InputProblem
from coilbench.plain_text import LONGEST_LINE, cleaned, inert, is_plain, shortened

# Control sequences: ECMA-48, 5th edition, 5.3 (C1 set) and 5.4. Bidirectional marks: Unicode Standard Annex #9,
# section 2, table of directional formatting characters.
HOSTILE = {
    "clipboard write": "\x1b]52;c;cm0gLXJmIH4=\x07",
    "window title": "\x1b]0;owned\x1b\\",
    "cursor home": "\x9bH",
    "line end": "RD\nBU",
    "carriage return": "ok\rBAD",
    "line separator": "a\u2028b",
    "backspace": "ab\b\bcd",
    "delete": "a\x7f",
    "null": "a\x00b",
    **{f"bidi {ord(each):x}": f"a{each}b" for each in "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2069"},
    "zero width": "a\u200bb\ufeffc",
    "surrogate": "a\udc9bb",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_what_drives_a_terminal_is_neither_kept_nor_shown(text: str) -> None:
    assert not is_plain(text)
    assert is_plain(inert(text)) and is_plain(cleaned(text))
    error = InputProblem(f"{text} is no motor", title=text, remedy=f"see {text}")
    assert is_plain(error.happened) and is_plain(error.title)
    assert all(is_plain(line) for line in str(error).split("\n"))


@pytest.mark.parametrize("text", ["", "12V 75 ohm", "Größe 42", "日本", "Ω µ ±5 %", "שחור", "é", "½ – °"])
def test_what_people_write_stays_as_it_is(text: str) -> None:
    assert is_plain(text)
    assert inert(text) == cleaned(text) == text


def test_what_is_shown_says_what_stood_there_and_what_is_kept_reads_on() -> None:
    assert inert("a\x1b]0;b\u202ec") == "a\\x1b]0;b\\u202ec"
    assert cleaned("0,8\u202fA\r\n12\u00a0V\t24") == "0,8 A 12 V 24"


@given(st.text(), st.integers(3, 400))
def test_any_text_becomes_plain_and_short(text: str, most: int) -> None:
    assert is_plain(inert(text)) and is_plain(cleaned(text))
    assert inert(inert(text)) == inert(text) and cleaned(cleaned(text)) == cleaned(text)
    assert len(shortened(text, most)) <= most


@pytest.mark.parametrize("remedy", ["", "type 12.3", "r" * 5000])
def test_a_message_is_never_longer_than_a_line(remedy: str) -> None:
    error = InputProblem(f"{'x' * 10_000} is no reading, expected ohms", remedy=remedy)
    line = f"coilbench windings: {error}"
    assert len(line) <= LONGEST_LINE and "\n" not in line
    assert error.happened.startswith("xxx") and error.happened.endswith("expected ohms")
