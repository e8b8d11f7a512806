"""Where coilbench keeps its files: the platform's own folders, or where the environment says."""

from __future__ import annotations

import os
from pathlib import Path

import platformdirs

_NAME = "coilbench"


def data_dir() -> Path:
    """The folder of the motor bin."""
    return Path(platformdirs.user_data_dir(_NAME, appauthor=False))


def config_dir() -> Path:
    """The folder of ``config.toml``."""
    return Path(platformdirs.user_config_dir(_NAME, appauthor=False))


def state_dir() -> Path:
    """The folder of what may be lost without harm, such as logs."""
    return Path(platformdirs.user_state_dir(_NAME, appauthor=False))


def board_log_path() -> Path:
    """What was said to and by the last helper board in the app; the one before is beside it."""
    return state_dir() / "board.jsonl"


def bin_path() -> Path:
    """The motor bin: ``COILBENCH_BIN`` if set, else the one file in the data folder."""
    told = os.environ.get("COILBENCH_BIN")
    return Path(told) if told else data_dir() / "motors.db"


def config_path() -> Path:
    """The settings: ``COILBENCH_CONFIG`` if set, else ``config.toml`` in the config folder."""
    told = os.environ.get("COILBENCH_CONFIG")
    return Path(told) if told else config_dir() / "config.toml"
