"""Sets of nine to twelve leads beside their fellows: shorted turns, other things, motors of other ohms."""

from __future__ import annotations

import pytest

from coilbench.winding.engine.fellows import Fellows, fellows
from coilbench.winding.engine.verdict import NAMED_FROM, Coil, Verdict
from coilbench.winding.readings.reading import Reading


def coils_of(*ohms: float, times: int = 2) -> Fellows:
    """Separate coils of so many ohms, each read so many times."""
    parts, readings = [], []
    for k, ohm in enumerate(ohms):
        ends = (f"{k}a", f"{k}b")
        parts.append(Verdict(ends, "single-coil-2", 0.999, (Coil("A", ends, None, ohm, 0.1),)))
        readings += [Reading(*ends, ohm)] * times
    return fellows(parts, readings)


def tapped(*halves: tuple[float, float]) -> Fellows:
    """Tapped coils of these halves, every pair of leads read twice."""
    parts, readings = [], []
    for k, (first, second) in enumerate(halves):
        start, tap, end = leads = (f"{k}a", f"{k}t", f"{k}b")
        coil = Coil("A", (start, end), tap, first + second, 0.1)
        parts.append(Verdict(leads, "tapped-coil-3", 0.999, (coil,)))
        readings += [Reading(start, tap, first), Reading(tap, end, second), Reading(start, end, first + second)] * 2
    return fellows(parts, readings)


@pytest.mark.parametrize("ohms", [(20.0, 11.0, 20.4, 19.6, 20.1), (4.1, 2.3, 4.0, 4.0), (20.0, 11.0)])
def test_a_coil_of_about_half_has_shorted_turns(ohms) -> None:
    found = coils_of(*ohms)
    assert found.sure >= NAMED_FROM and not found.foreign and not found.again
    (low,) = found.low
    assert low.ends == ("1a", "1b") and low.likely >= NAMED_FROM and 0.47 <= low.left <= 0.6


def test_a_half_of_a_tapped_coil_is_held_against_all_other_halves() -> None:
    found = tapped((24.0, 24.5), (13.2, 23.8))
    assert found.sure >= NAMED_FROM and [(low.ends, low.likely >= NAMED_FROM) for low in found.low] == [
        (("1a", "1t"), True)
    ]
    # Two motors, one of twice the ohms, one half of the larger low: no other set is like it.
    found = tapped((24.0, 24.5), (12.2, 12.0), (12.1, 12.3), (24.3, 13.4))
    assert found.sure >= NAMED_FROM and [low.ends for low in found.low] == [("3b", "3t")]


@pytest.mark.parametrize(
    "ohms", [(20.8, 19.3, 20.1, 20.6, 19.5), (1.04, 0.96, 1.1, 1.0), (20.9, 20.0, 19.8, 20.4, 12.1, 12.9)]
)
def test_coils_eight_per_cent_apart_are_sound(ohms) -> None:
    found = coils_of(*ohms)
    assert found.sure >= NAMED_FROM and not found.low and not found.foreign


def test_a_coil_a_little_low_is_neither_sound_nor_faulty_for_sure() -> None:
    (low,) = coils_of(20.0, 17.5, 20.4, 19.8, 20.2).low
    assert 0.1 < low.likely < NAMED_FROM


def test_what_is_like_no_coil_is_something_elses() -> None:
    found = coils_of(2.0, 2.1, 40.0, 2.0, 2.0)
    assert found.sure >= NAMED_FROM and [part.leads for part in found.foreign] == [("2a", "2b")] and not found.low


def test_two_and_two_are_two_motors() -> None:
    found = coils_of(2.0, 2.1, 40.0, 41.0)
    assert found.sure >= NAMED_FROM and found.motors and not found.foreign and not found.low


def test_nothing_hangs_on_one_reading() -> None:
    assert coils_of(20.0, 11.0, 20.4, 19.6, times=1).again == (("1a", "1b"),)
    assert coils_of(20.0, 400.0, 20.4, 19.6, times=1).again == (("1a", "1b"),)
    assert coils_of(20.0, 11.0, times=1).again == (("0a", "0b"), ("1a", "1b"))
    assert not coils_of(20.0, 20.5, 20.4, 19.6, times=1).again
