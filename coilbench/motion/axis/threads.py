"""Threads by their designation: ``M8``, ``M8x1``, ``Tr8x8(P2)``."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib import resources

from coilbench.errors import InputProblem

# Half of the thread's angle: ISO 68-1 (60 degrees), ISO 2901 (30 degrees), ASME B1.5 (29 degrees).
HALF_ANGLE_DEGREE = {"square": 0.0, "metric": 30.0, "trapezoidal": 15.0, "acme": 14.5}

_DESIGNATION = re.compile(
    r"(M|Tr) ?([0-9]{1,3}(?:\.[0-9]{1,3})?)(?: ?[x×] ?([0-9]{1,3}(?:\.[0-9]{1,3})?))?"
    r"(?: ?\(? ?P ?([0-9.]{1,5}) ?\)?)?",
    re.IGNORECASE,
)


@dataclass(frozen=True)
class ThreadSize:
    """What a designation says; lengths in metres."""

    form: str
    pitch_diameter_metre: float
    root_diameter_metre: float
    lead_metre: float


@cache
def coarse_pitches_mm() -> dict[float, float]:
    """The coarse pitch of each metric size, both in millimetres."""
    text = (resources.files("coilbench.motion.axis") / "coarse_pitch.csv").read_text(encoding="utf-8")
    return {float(row["size_mm"]): float(row["pitch_mm"]) for row in csv.DictReader(text.splitlines())}


def thread_size(designation: str) -> ThreadSize:
    """The thread that ``designation`` names.

    Metric: d2 = d - 0.6495 P (ISO 724), root of the screw d3 = d - 1.2269 P (ISO 965-1; from memory). Trapezoidal:
    d2 = d - P/2, d3 = d - P - 2 ac (ISO 2904; from memory). A number after ``x`` is the lead; with more than one
    start the pitch follows as ``(P2)``. Raises InputProblem.
    """
    match = _DESIGNATION.fullmatch(" ".join(designation.split()))
    if match is None:
        raise InputProblem(f"{designation!r} is no thread, expected one such as M8, M8x1 or Tr8x8(P2)")
    metric, size = match[1].upper() == "M", float(match[2])
    lead = float(match[3]) if match[3] else coarse_pitches_mm().get(size) if metric else None
    if lead is None:
        raise InputProblem(f"{designation!r} names no pitch, expected one such as M8x1.25 or Tr8x2")
    try:
        pitch = float(match[4]) if match[4] else lead
    except ValueError:
        raise InputProblem(f"{designation!r}: {match[4]!r} is no pitch, expected one such as Tr8x8(P2)") from None
    starts = lead / pitch if pitch > 0 else 0.0
    if starts < 1 or abs(starts - round(starts)) > 1e-6 or pitch > size / 2:
        raise InputProblem(f"{designation!r}: the lead is a whole number of pitches, expected such as Tr8x8(P2)")
    if metric:
        form, mean, root = "metric", size - 0.64952 * pitch, size - 1.22687 * pitch
    else:
        clearance = 0.15 if pitch < 2 else 0.25 if pitch <= 5 else 0.5 if pitch <= 12 else 1.0
        form, mean, root = "trapezoidal", size - pitch / 2, size - pitch - 2 * clearance
    return ThreadSize(form, mean / 1000, root / 1000, lead / 1000)
