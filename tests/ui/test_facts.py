"""What stands beside the question: one meaning to a figure."""

from __future__ import annotations

import re

from coilbench.ui.facts import verdict_lines
from coilbench.winding.engine.sorting import judge
from coilbench.winding.readings.reading import Reading


def test_the_figures_name_what_they_are_of_and_none_outbids_another() -> None:
    leads = ("RD", "BU", "WH", "GN", "BK", "YE")
    verdict = judge(leads, [Reading("RD", "BU", 48.6), Reading("RD", "GN", float("inf"))])
    lines = verdict_lines(verdict)
    kind = next(line for line in lines if line.startswith("likely"))
    placed = next(line for line in lines if line.startswith("placed"))
    assert kind.startswith("likely    unipolar-6 (") and placed.endswith("sure of every lead")
    assert verdict.kind_confidence is not None and verdict.kind_confidence >= verdict.confidence
    others = [line for line in lines if line.startswith(("perhaps", "or "))]
    assert others and not any(re.search(r"\d %", line) for line in others)
