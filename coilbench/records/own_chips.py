"""A person's own rows of driver chips: ``drivers.csv`` beside the settings."""

from __future__ import annotations

from pathlib import Path

from coilbench.driver.catalogue import parse_rows
from coilbench.driver.chip import Chip
from coilbench.errors import InputProblem
from coilbench.records.paths import config_path


def own_chips_path() -> Path:
    """Where a person's own chips are looked for."""
    return config_path().with_name("drivers.csv")


def own_chips() -> tuple[Chip, ...]:
    """The chips of that file, none when there is no file. Raises InputProblem naming file, line and value."""
    path = own_chips_path()
    try:
        text = path.read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as problem:
        raise InputProblem(f"{path} can't be read: {problem}") from problem
    return parse_rows(text, str(path))
