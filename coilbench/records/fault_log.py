"""What went wrong that nobody foresaw, written down to be passed on."""

from __future__ import annotations

import time
import traceback
from pathlib import Path
from types import FrameType

from coilbench import __version__
from coilbench.records.paths import fault_log_path

MOST_BYTES = 1_000_000


def note_fault(error: BaseException, path: Path | None = None) -> Path | None:
    """Add an error with the way it took to the log; the log's path, None where it can't be written."""
    return _add("".join(traceback.format_exception(error)), path)


def note_stuck(frame: FrameType, why: str, path: Path | None = None) -> Path | None:
    """Add where a thread stood when it had to be ended."""
    return _add(f"{why}\n{''.join(traceback.format_stack(frame))}", path)


def _add(text: str, path: Path | None) -> Path | None:
    log = path or fault_log_path()
    stamp = time.strftime("%Y-%m-%d %H:%M:%S")
    try:
        log.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        if log.exists() and log.stat().st_size > MOST_BYTES:
            log.replace(log.with_stem(f"{log.stem}-before"))
        with log.open("a", encoding="utf-8", errors="backslashreplace") as file:
            file.write(f"{stamp} coilbench {__version__}\n{text}\n")
    except OSError:
        return None
    return log
