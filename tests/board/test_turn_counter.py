"""A turn counted by the edges of a flag, chattering ones too."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coilbench.board.link.frames import Frame
from coilbench.board.session.turn_counter import EdgeNotes


def edge(level: int, at: float) -> Frame:
    return Frame("tell", 1, "edge", {"level": level, "pos": round(at * 8), "count": 1})


@given(
    turn=st.integers(20, 3000),
    slot=st.floats(0.01, 0.4),
    chatter=st.lists(st.floats(0, 1.2), max_size=4),
    inside=st.booleans(),
)
def test_a_chattering_flag_is_counted_once_a_turn(turn: int, slot: float, chatter: list[float], inside: bool) -> None:
    notes = EdgeNotes(8, 0 if inside else 1)
    if inside:
        notes.watch(edge(1, 5))
    for passed in range(1, 4):
        for rim, (first, last) in ((0.0, (0, 0)), (slot * turn, (1, 1))):
            at = passed * turn + rim
            notes.watch(edge(first, at))
            for number, off in enumerate(sorted(chatter)):
                notes.watch(edge((first + number + 1) % 2, at + off))
            notes.watch(edge(last, at + 1.3))
    counted = notes.counted()
    assert notes.passes == 3 and counted.steps_per_turn == pytest.approx(turn, abs=0.5)
