"""Body sizes: what a frame name or a diameter says about the outside of a motor."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass, replace
from functools import cache
from importlib.resources import files

from coilbench.errors import InputProblem

SMALLEST_METRE = 0.005
LARGEST_METRE = 0.5
_SIZES_TEXT = "expected 5 to 500 mm"
_FACE_TOLERANCE_METRE = 0.0021  # calipers on a painted lamination stack, and 56 against 57 mm
_EXPECTED = 'expected a frame size such as "NEMA 17", "17" or "42mm", or a diameter for a round can'
_NAME = re.compile(r"^(?:(?:nema|size|frame)\s*[-_ ]?\s*)?(\d{1,2})$", re.IGNORECASE)
_ROUND_WORD = re.compile(r"round|can|dia(?:meter)?|[⌀øØ]", re.IGNORECASE)
_SIZE = re.compile(r"(?<!\d)(\d{1,9}(?:[.,]\d{1,9})?)\s*mm\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Frame:
    """One row of the frame table; lengths are those of the body without its shaft, in metres. ``rated_makers`` counts
    the makers whose printed ratings of that frame the heat balance was compared with."""

    name: str
    round_can: bool
    face_metre: float
    short_metre: float
    typical_metre: float
    long_metre: float
    hole_pitch_metre: float | None
    rated_makers: int
    source: str


@dataclass(frozen=True, slots=True)
class Body:
    """The outside of a motor: a square prism of ``face_metre`` across, or a round can of that diameter.

    ``length_metre`` is the best figure; ``shortest_metre`` and ``longest_metre`` differ from it when the length was
    not measured. ``name`` is how to speak of it. ``by_size`` tells that the shape was not said: a face was given in
    millimetres that round cans have too.
    """

    name: str
    round_can: bool
    face_metre: float
    length_metre: float
    shortest_metre: float
    longest_metre: float
    by_size: bool = False

    @property
    def length_known(self) -> bool:
        return self.shortest_metre == self.longest_metre

    def with_length(self, length_metre: float) -> Body:
        """The same face with a body of one length."""
        return replace(self, length_metre=length_metre, shortest_metre=length_metre, longest_metre=length_metre)


@cache
def frame_table() -> tuple[Frame, ...]:
    """The rows of frames.csv."""
    text = (files("coilbench.rating") / "frames.csv").read_text(encoding="utf-8")
    return tuple(
        Frame(
            name=row["name"],
            round_can=row["shape"] == "round",
            face_metre=float(row["face_mm"]) / 1000,
            short_metre=float(row["short_mm"]) / 1000,
            typical_metre=float(row["typical_mm"]) / 1000,
            long_metre=float(row["long_mm"]) / 1000,
            hole_pitch_metre=float(row["hole_pitch_mm"]) / 1000 if row["hole_pitch_mm"] else None,
            rated_makers=int(row["rated_makers"]),
            source=row["source"],
        )
        for row in csv.DictReader(text.splitlines())
    )


@cache
def rated_makers(name: str) -> int:
    """How many makers' ratings were compared for bodies of that name; none for sizes the table doesn't hold."""
    return next((row.rated_makers for row in frame_table() if row.name == name), 0)


def body_of(
    frame: str | None = None, diameter_metre: float | None = None, length_metre: float | None = None
) -> Body | None:
    """The body from what was measured; None when neither frame nor diameter is known.

    Without a length the table's range for that size stands in. Raises InputProblem for a frame that is not in the
    table, for a frame and a diameter together, and for sizes no motor has.
    """
    if frame and diameter_metre is not None:
        raise InputProblem(
            f"frame size {frame!r} and a diameter were both given: expected a square face or a round can"
        )
    for what, size in (("diameter", diameter_metre), ("body length", length_metre)):
        if size is not None and not SMALLEST_METRE <= size <= LARGEST_METRE:
            raise InputProblem(f"{what} {size * 1000:g} mm: {_SIZES_TEXT}")
    if diameter_metre is not None:
        body = _can(diameter_metre)
    elif frame:
        body = parse_frame(frame)
    else:
        return None
    if length_metre is None:
        return body
    if not 0.1 <= length_metre / body.face_metre <= 8:
        raise InputProblem(
            f"body length {length_metre * 1000:g} mm on a face of {body.face_metre * 1000:g} mm: expected a motor's "
            "proportions; is the unit right?"
        )
    return body.with_length(length_metre)


def parse_frame(text: str) -> Body:
    """A frame's body from its name ("NEMA 17", "17"), its face ("42mm") or a round can ("35 mm can")."""
    asked = " ".join(text.split())
    size = _SIZE.search(asked)
    if size is not None:
        metre = float(size.group(1).replace(",", ".")) / 1000
        if _ROUND_WORD.search(asked):
            return _can(metre)
        body = _square(metre, asked)
        cans = [row.face_metre for row in frame_table() if row.round_can]
        said = "square" in asked.lower()
        return replace(body, by_size=not said and min(abs(can - metre) for can in cans) < _FACE_TOLERANCE_METRE)
    name = _NAME.match(asked)
    if name is None:
        raise InputProblem(f"frame size {text!r}: {_EXPECTED}")
    number = int(name.group(1))
    if asked == "42":
        raise InputProblem('frame size \'42\' has two meanings: write "NEMA 42" (110 mm) or "42mm" (NEMA 17)')
    for row in frame_table():
        if row.name == f"NEMA {number}":
            return _body(row)
    known = ", ".join(row.name.removeprefix("NEMA ") for row in frame_table() if not row.round_can)
    raise InputProblem(
        f"frame size {text!r}: no such NEMA size here, known are {known}; or give the face as {number}mm"
    )


def _square(face_metre: float, asked: str) -> Body:
    squares = [row for row in frame_table() if not row.round_can]
    nearest = min(squares, key=lambda row: abs(row.face_metre - face_metre))
    # NEMA 42 is drawn with 106 and with 110 mm.
    tolerance = max(_FACE_TOLERANCE_METRE, 0.04 * nearest.face_metre if nearest.face_metre > 0.1 else 0.0)
    if abs(nearest.face_metre - face_metre) > tolerance:
        faces = ", ".join(f"{row.face_metre * 1000:g}" for row in squares)
        raise InputProblem(
            f"frame {asked!r}: no square face near that, known are {faces} mm; a round can takes a diameter"
        )
    return _body(nearest)


def _body(row: Frame) -> Body:
    return Body(row.name, row.round_can, row.face_metre, row.typical_metre, row.short_metre, row.long_metre)


def _can(diameter_metre: float) -> Body:
    if not SMALLEST_METRE <= diameter_metre <= LARGEST_METRE:
        raise InputProblem(f"diameter {diameter_metre * 1000:g} mm: {_SIZES_TEXT}")
    cans = [row for row in frame_table() if row.round_can]
    nearest = min(cans, key=lambda row: abs(math.log(row.face_metre / diameter_metre)))
    scale = diameter_metre / nearest.face_metre
    return Body(
        name=f"{diameter_metre * 1000:g} mm can",
        round_can=True,
        face_metre=diameter_metre,
        length_metre=nearest.typical_metre * scale,
        shortest_metre=nearest.short_metre * scale,
        longest_metre=nearest.long_metre * scale,
    )
