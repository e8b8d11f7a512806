"""What each part drags in when it is imported, seen from a fresh interpreter."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("textual", "rich", "numpy", "pint", "serial", "sqlite3")


def loaded_after(statement: str) -> set[str]:
    program = f"{statement}\nimport sys\nprint(*(name for name in {HEAVY!r} if name in sys.modules))"
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    return set(done.stdout.splitlines()[-1].split()) if done.stdout.strip() else set()


@pytest.mark.parametrize("option", ["--help", "--version"])
def test_help_and_version_load_nothing_heavy(option: str) -> None:
    statement = (
        f"import contextlib\nfrom coilbench.cli import main\nwith contextlib.suppress(SystemExit): main(['{option}'])"
    )
    assert loaded_after(statement) == set()


@pytest.mark.parametrize(
    "module",
    [
        "winding.engine.sorting",
        "winding.drawing.figures",
        "winding.order.judging",
        "rating",
        "driver",
        "motion",
        "records.store",
        "quantity",
    ],
)
def test_rooms_below_the_screen_never_load_it(module: str) -> None:
    assert loaded_after(f"import coilbench.{module}") & {"textual", "rich", "pint"} == set()


def test_a_plain_reading_needs_no_units_library() -> None:
    assert loaded_after("from coilbench.quantity import parse_reading; parse_reading('12R3')") == set()


def test_first_screen_comes_before_the_engine() -> None:
    assert loaded_after("import coilbench.ui.app") & {"numpy", "pint"} == set()
