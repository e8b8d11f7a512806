"""`python tests/bench`: how fast and how large coilbench is here, as ratios taken in one run.

Not part of the tests: a busy machine would fail them for nothing. Needs the project's environment and a Unix system.
"""

from __future__ import annotations

import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE.parent.parent), str(HERE)]

import judging  # noqa: E402
import keeping  # noqa: E402
import placing  # noqa: E402
import starting  # noqa: E402
import worked  # noqa: E402
from table import Row, show  # noqa: E402


def main() -> int:
    """Measure, print the table, return 1 when something is beyond its limit."""
    rows: list[Row] = []
    for measure in (
        starting.command_starts,
        starting.first_screens,
        judging.judged,
        placing.placed,
        keeping.saved,
        keeping.large_bin,
        worked.worked_bin,
    ):
        print(f"measuring: {measure.__doc__}", file=sys.stderr)
        rows += measure()
    show(rows)
    return 0 if all(row.within for row in rows) else 1


if __name__ == "__main__":
    raise SystemExit(main())
