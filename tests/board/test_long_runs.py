"""What counts as a change of the physics or the sketch: what is computed, not how it is written down."""

from __future__ import annotations

import pytest

from tests import long_runs

PHYSICS = '''
"""Torque."""
from math import sin

def torque(angle: float, peak: float = 0.2) -> float:
    """N m."""
    # falls with the angle
    return -peak * sin(angle)
'''


@pytest.mark.parametrize(
    ("written", "changed"),
    [
        (PHYSICS.replace("from math import sin", "from numpy import (\n    sin,\n)"), False),
        (PHYSICS.replace("N m.", "Newton metre."), False),
        (PHYSICS.replace("    # falls with the angle\n", "\n"), False),
        (PHYSICS.replace("-peak * sin", "-(peak) * sin"), False),
        (PHYSICS.replace("0.2", "0.21"), True),
        (PHYSICS.replace("-peak", "peak"), True),
    ],
)
def test_words_are_no_physics(written: str, changed: bool) -> None:
    assert (long_runs.python_told(written) != long_runs.python_told(PHYSICS)) == changed


def test_a_function_of_words_alone_can_be_told() -> None:
    assert long_runs.python_told('def rest() -> None:\n    """Nothing."""\n')


def test_comments_are_no_sketch() -> None:
    sketch = "int a; // one\nint b; /* two\nlines */ int c;\n"
    assert long_runs.sketch_told(sketch) == "int a; int b; int c;"


def test_the_physics_reach_motor_motion_and_variation() -> None:
    names = {path.stem for path in long_runs.physics_files()}
    assert {"ten_motors", "crate", "motor", "motion", "move_variation"} <= names
    assert not names & {"frames", "client"}
