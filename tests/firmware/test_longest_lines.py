"""The compiled sketch says its longest lines whole: with all counts, positions and numbers at their widest."""

from __future__ import annotations

from typing import Any

from coilbench.board.link.frames import MAX_LINE, Frame, encode
from tests.board.longest_lines import LONGEST
from tests.firmware import toolchain

FURTHEST = 999_999_999
ASKED: list[tuple[str, dict[str, int | str]]] = [
    ("hello", {"protocol": 1}),
    *(("pins", {"of": group}) for group in ("driver", "coils", "sense", "clips")),
    *(("limits", {"of": group}) for group in ("rates", "pulse", "times", "coils")),
    *((verb, {}) for verb in ("report", "counts", "beat", "index", "stop", "ease", "supply", "scale")),
    ("read", {"channel": 0, "samples": 64}),
    ("pulse", {"high": 30_000, "low": 30_000, "setup": 50_000}),
    ("drive", {"by": "driver"}),
    ("idle", {"ms": 60_000}),
]


def at_its_widest(chip: Any, number: int = 65535) -> None:
    """Position, counts and the expected number as large as they get; `Session` lies in memory without gaps."""
    names = toolchain.variables(chip.elf)
    chip.set_memory(names["records"] + 4, -FURTHEST + 5000, 4)
    session = names["session"]
    chip.set_memory(session + 1, number, 2)
    for place in range(6):
        chip.set_memory(session + 3 + 2 * place, 65535, 2)
    chip.set_memory(session + 15, FURTHEST, 4)
    for place in (21, 25):
        chip.set_memory(session + place, -FURTHEST, 4)


def shape(frame: Frame) -> tuple[str, str, tuple[str, ...]]:
    return frame.kind, frame.word, tuple(frame.fields)


def test_each_answer_at_its_longest(host: Any) -> None:
    longest = {shape(frame): len(encode(frame)) for frame in LONGEST}
    for verb, fields in ASKED:
        at_its_widest(host.chip)
        answer = host.send(encode(Frame("ask", 65535, verb, dict(fields))) + b"\n")
        assert answer.kind == "yes" and len(encode(answer)) <= longest[shape(answer)] <= MAX_LINE, answer


def test_a_report_far_out_and_on_the_way_back(host: Any) -> None:
    """The line that finds the way back when the count is lost, at its longest."""
    host.ask("outputs", on=1)
    at_its_widest(host.chip)
    host.next = 65535
    host.ask("trip", steps=-4000, start=1000, run=20_000, gain=100_000, rest=0, back=500)
    host.wait(450)
    for line in (b"report\n", b" REPORT \n"):
        report = host.send(line).fields
        assert report["state"] == "returning" and report["pos"] < -999_990_000
    host.port.write(b"stop\n")
    assert host.answer().word == "stop"
