"""What is whole in a damaged bin, saved as an export; the damaged file is only read."""

from __future__ import annotations

import json
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records.files import write_whole
from coilbench.records.rescue import Rescued, rescued


def save_whole(bin_path: Path, target: Path) -> Rescued:
    """Write it to a new file; return what it holds and what is lost. Raises InputProblem for a file that is there,
    where one can't be written, and where nothing is whole; and the faults of ``records.problems``."""
    if target.exists() or target.is_symlink():
        raise InputProblem(f"{target} is there already", remedy="choose another name")
    found = rescued(bin_path)
    if not found.whole["motors"]:
        raise InputProblem("no motor is whole in it", remedy="`coilbench bin restore` puts back a backup")
    write_whole(target, json.dumps(found.whole, ensure_ascii=False, indent=1) + "\n")
    return found


def told(found: Rescued, target: Path, most: int = 20) -> str:
    """What was saved and what was left out, in lines."""
    count = len(found.whole["motors"])
    lines = [f"{count} motor{'' if count == 1 else 's'} saved in {target}", ""]
    lines += [f"left out: {each}" for each in found.lost[:most] or ["nothing that is known of"]]
    if len(found.lost) > most:
        lines.append(f"left out: {len(found.lost) - most} more")
    return "\n".join([*lines, "", "Once an empty bin is there, `coilbench bin import FILE` brings them back."])
