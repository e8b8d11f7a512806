"""Where coilbench keeps its files: the platform's own folders, or where the environment says."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path

import platformdirs

from coilbench.errors import Fault

_NAME = "coilbench"


class NoHome(Fault):
    """The system tells no home folder."""

    def __init__(self) -> None:
        super().__init__(
            "no home folder is known",
            title="No home folder",
            remedy="set HOME, or name the motor bin's file with --bin",
        )


def data_dir() -> Path:
    """The folder of the motor bin. Raises NoHome."""
    return _known(platformdirs.user_data_dir)


def config_dir() -> Path:
    """The folder of ``config.toml``. Raises NoHome."""
    return _known(platformdirs.user_config_dir)


def state_dir() -> Path:
    """The folder of what may be lost without harm, such as logs."""
    try:
        return _known(platformdirs.user_state_dir)
    except NoHome:
        return Path(tempfile.gettempdir()) / f"{_NAME}-{os.getuid() if hasattr(os, 'getuid') else ''}"


def _known(told: Callable[..., str]) -> Path:
    """Raises NoHome for a folder in a home that isn't told."""
    try:
        folder = told(_NAME, appauthor=False)
    except RuntimeError:  # so says platformdirs today; it once gave a folder called "~"
        raise NoHome() from None
    if not os.path.isabs(folder):
        raise NoHome()
    return Path(folder)


def board_log_path() -> Path:
    """What was said to and by the last helper board in the app; the one before is beside it."""
    return state_dir() / "board.jsonl"


def fault_log_path() -> Path:
    """What went wrong in the bench that nobody foresaw."""
    return state_dir() / "faults.log"


def bin_path() -> Path:
    """The motor bin: ``COILBENCH_BIN`` if set, else the one file in the data folder."""
    told = os.environ.get("COILBENCH_BIN")
    return Path(told) if told else data_dir() / "motors.db"


def config_path() -> Path:
    """The settings: ``COILBENCH_CONFIG`` if set, else ``config.toml`` in the config folder."""
    told = os.environ.get("COILBENCH_CONFIG")
    return Path(told) if told else config_dir() / "config.toml"
