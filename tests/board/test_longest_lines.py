"""Every answer, refusal and event at its longest fits the line, and the board's own encoder says what doesn't."""

from __future__ import annotations

import re
from pathlib import Path

from coilbench.board.link.frames import MAX_LINE, Frame, decode, encode, encode_fitting
from coilbench.board.link.messages import VERBS
from tests.board.longest_lines import LONGEST

PROTOCOL = (Path(__file__).parents[2] / "sketches" / "PROTOCOL.md").read_text(encoding="utf-8")


def test_the_longest_of_each_kind_fits() -> None:
    lengths = {(frame.kind, frame.word, *frame.fields): len(encode(frame)) for frame in LONGEST}
    assert len(lengths) == len(LONGEST) and max(lengths.values()) <= MAX_LINE


def test_the_table_has_every_kind() -> None:
    def words(kind: str) -> set[str]:
        return {frame.word for frame in LONGEST if frame.kind == kind}

    def named(heading: str) -> set[str]:
        section = PROTOCOL.split(f"\n## {heading}")[1].split("\n## ")[0]
        return set(re.findall(r"^\| `(\w+)` \|", section, re.MULTILINE))

    assert words("yes") == set(VERBS) == named("3.")
    assert words("tell") - {"overflow"} == named("4.")
    assert words("no") == named("5.")


def test_what_does_not_fit_is_said_to_be_too_long() -> None:
    long = {f"{letter}a": 999_999_999 for letter in "abcdefgh"}
    for kind, said in (("yes", "no"), ("no", "no"), ("tell", "tell")):
        frame = Frame(kind, 65535, "report", dict(long))  # type: ignore[arg-type]
        assert decode(encode_fitting(frame)) == Frame(said, 65535, "overflow")  # type: ignore[arg-type]
    whole = Frame("yes", 1, "idle", {"ms": 100})
    assert encode_fitting(whole) == encode(whole)
