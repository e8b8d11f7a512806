"""The helper sketch's sources, as they came with this copy: for the person's own compiler, or another wiring."""

from __future__ import annotations

import shutil
from importlib.resources import files
from pathlib import Path

from coilbench.errors import Fault, InputProblem

_LEFT_OUT = shutil.ignore_patterns("__pycache__", "*.pyc", ".*")


def sources() -> Path:
    """The folder of the sketch and its protocol. Raises Fault."""
    package = Path(str(files("coilbench.board.flash")))
    # A checkout on a system without symbolic links has them in one place only.
    for place in (package / "sketches", package.parents[2] / "sketches"):
        if (place / "bench_helper" / "bench_helper.ino").is_file():
            return place
    raise Fault("the sketch's sources are missing from this copy", remedy="install coilbench again")


def write_out(folder: Path) -> list[Path]:
    """Write them into ``folder``, which is new or empty; the files there, as paths. Raises InputProblem, OSError."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputProblem(f"{folder} is there and not empty", remedy="name a new folder")
    shutil.copytree(sources(), folder, ignore=_LEFT_OUT, dirs_exist_ok=True)
    return sorted(each for each in folder.rglob("*") if each.is_file())
