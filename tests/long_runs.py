"""What is left to the long run: tests marked ``long("SUBJECT")``.

They run with COILBENCH_LONG=1, and in any run after their subject has changed since long_runs.csv was written. To run
those that are due and note the new digests when they pass:

    python tests/long_runs.py
"""

from __future__ import annotations

import ast
import csv
import hashlib
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
NOTED = Path(__file__).with_name("long_runs.csv")
# The physics are what the ten motors' trials reach of the virtual board, and the table that was made of them.
_TRIALS = ROOT / "tests" / "board" / "ten_motors.py"
_REACHED = "coilbench.board.virtual"
_CRATE = ROOT / "coilbench" / "board" / "virtual" / "demo_motors.py"  # a table of windings: none of its motors turns
_RESPONSE = ROOT / "coilbench" / "motion" / "response.csv"
_SKETCH = ROOT / "sketches" / "bench_helper"


def python_told(source: str) -> str:
    """A Python module without comments, layout, docstrings and imports; the same from every Python version."""
    return _told(ast.parse(source))


def _told(part: object) -> str:
    if isinstance(part, list):
        return f"[{','.join(_told(each) for each in part)}]"
    if not isinstance(part, ast.AST):
        return repr(part)
    fields = {name: value for name, value in ast.iter_fields(part) if value not in (None, [])}
    if isinstance(body := fields.get("body"), list):
        fields["body"] = [each for each in body if not _says_nothing(each)]
    return f"{type(part).__name__}({','.join(f'{name}={_told(value)}' for name, value in fields.items())})"


def _says_nothing(statement: ast.AST) -> bool:
    is_text = isinstance(statement, ast.Expr) and isinstance(statement.value, ast.Constant)
    return is_text or isinstance(statement, ast.Import | ast.ImportFrom)


def sketch_told(source: str) -> str:
    """A part of the sketch without comments and layout."""
    return " ".join(re.sub(r"//[^\n]*|/\*.*?\*/", " ", source, flags=re.DOTALL).split())


def physics_files() -> set[Path]:
    """What makes the ten motors' trials, and what that imports of the virtual board, directly or not."""
    seen, due = {_CRATE}, [_TRIALS]
    while due:
        file = due.pop()
        if file in seen:
            continue
        seen.add(file)
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith(_REACHED):
                module = ROOT.joinpath(*(node.module or "").split("."))
                named = [module / f"{each.name}.py" for each in node.names]
                due += [path for path in (module.with_suffix(".py"), *named) if path.exists()]
    return seen - {_CRATE}


def _digest(parts: Iterator[str]) -> str:
    """The same whatever the parts' files are called."""
    each = sorted(hashlib.sha256(part.encode()).hexdigest() for part in parts)
    return hashlib.sha256("".join(each).encode()).hexdigest()[:16]


def physics() -> str:
    """Digest of the virtual motors' physics and the response table."""
    modules = [python_told(path.read_text(encoding="utf-8")) for path in physics_files()]
    return _digest(iter([*modules, _RESPONSE.read_text(encoding="utf-8")]))


def sketch() -> str:
    """Digest of the helper sketch."""
    sources = [path for path in _SKETCH.iterdir() if path.suffix in (".ino", ".cpp", ".h")]
    return _digest(sketch_told(path.read_text(encoding="utf-8")) for path in sources)


# Run with COILBENCH_LONG alone: whatever changes, a short run of the same is always made.
ASKED_FOR = ("hostile", "more")
SUBJECTS: dict[str, Callable[[], str]] = {"physics": physics, "sketch": sketch}


def changed() -> set[str]:
    """Subjects that are not what they were when their long tests were last noted as passed."""
    with NOTED.open(encoding="utf-8", newline="") as file:
        noted = {row["subject"]: row["digest"] for row in csv.DictReader(file)}
    return {subject for subject, digest in SUBJECTS.items() if digest() != noted.get(subject)}


def due() -> set[str]:
    """Subjects whose long tests are to run now."""
    return {*SUBJECTS, *ASKED_FOR} if os.environ.get("COILBENCH_LONG") else changed()


def main() -> int:
    """Run the long tests that are due; note what they were run for when they pass."""
    if not changed():
        print("nothing has changed since the long tests were last run")
        return 0
    done = subprocess.run([sys.executable, "-m", "pytest", "-m", "long", "-n", "2", "tests"], cwd=ROOT, check=False)
    if done.returncode == 0:
        with NOTED.open("w", encoding="utf-8", newline="") as file:
            table = csv.writer(file, lineterminator="\n")
            table.writerows([("subject", "digest"), *((subject, digest()) for subject, digest in SUBJECTS.items())])
    return done.returncode


if __name__ == "__main__":
    raise SystemExit(main())
