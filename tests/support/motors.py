"""Motors as their windings were sorted, for tests of the stages after that."""

from __future__ import annotations

from coilbench.records.saved.base import Fact
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import Coil, Windings

FOUR = Windings(
    arrangement="bipolar-4",
    confidence=0.99,
    coils=tuple(
        Coil(name=name, ends=ends, ohms=2.4, ohms_sd=0.1) for name, ends in (("A", ("RD", "BU")), ("B", ("GN", "BK")))
    ),
)
FIVE = Windings(
    arrangement="unipolar-5",
    confidence=0.99,
    common="WH",
    coils=tuple(
        Coil(name=name, ends=("WH", end), ohms=70.0, ohms_sd=0.5)
        for name, end in zip("ABCD", ("RD", "YE", "BU", "BK"), strict=True)
    ),
)
SIX = Windings(
    arrangement="unipolar-6",
    confidence=0.99,
    coils=(
        Coil(name="A", ends=("RD", "BU"), tap="WH", ohms=48.2, ohms_sd=0.3),
        Coil(name="B", ends=("GN", "BK"), tap="YE", ohms=48.2, ohms_sd=0.3),
    ),
)
# Turns FIVE clockwise.
RING = ("RD", "BU", "YE", "BK")
IN_ORDER = Order(
    ends=("RD", "YE", "BU", "BK"),
    sequence=RING,
    reverse=("RD", "BK", "YE", "BU"),
    phases=(("RD", "YE"), ("BU", "BK")),
    confidence=0.99,
    tests=3,
    done=True,
)
EIGHT = Windings(
    arrangement="split-8",
    confidence=0.99,
    coils=tuple(
        Coil(name=name, ends=ends, ohms=1.4, ohms_sd=0.05)
        for name, ends in zip("ABCD", (("RD", "YE"), ("BU", "BK"), ("WH", "OG"), ("BN", "GN")), strict=True)
    ),
)
EIGHT_LEADS = "RD YE BU BK WH OG BN GN"
PAIRED = Order(halves={"A": (("RD", "YE"), ("BU", "BK")), "B": (("WH", "OG"), ("BN", "GN"))}, done=True)
# 23-305-DS8A: 3 A, 1.4 ohm, 3.2 mH a half-winding.
RATED = Ratings(
    current_ampere=3.0,
    low_ampere=2.5,
    high_ampere=3.5,
    resistance_ohm=1.4,
    inductance_henry=0.0032,
    step_angle_degree=1.8,
)


def known(*facts: Fact) -> Facts:
    """These facts as what is known of one motor."""
    return Facts({fact.stage: fact for fact in facts})
