"""A person's own rows of driver chips: ``drivers.csv`` beside the settings."""

from __future__ import annotations

from pathlib import Path

from coilbench.driver.catalogue import parse_rows
from coilbench.driver.chip import Chip
from coilbench.errors import InputProblem
from coilbench.records.paths import NoHome, config_path

_LARGEST_BYTES = 1_000_000


def own_chips_path() -> Path:
    """Where a person's own chips are looked for."""
    return config_path().with_name("drivers.csv")


def own_chips() -> tuple[Chip, ...]:
    """The chips of that file, none when there is no file. Raises InputProblem naming file, line and value."""
    try:
        path = own_chips_path()
    except NoHome:
        return ()
    try:
        if path.is_fifo():
            raise InputProblem(f"{path} is a pipe, expected a table of driver chips")
        with path.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
        text = data.decode("utf-8-sig")
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as problem:
        raise InputProblem(f"{path} can't be read: {problem}") from problem
    if len(data) > _LARGEST_BYTES:
        raise InputProblem(
            f"{path} is larger than {_LARGEST_BYTES // 1_000_000} MB, expected a table of driver chips"
        )
    return parse_rows(text, str(path))
