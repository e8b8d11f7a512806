"""Makes the project's own virtual environment in a checkout, so that one command is enough on a fresh machine.

Standard library alone: it runs before anything is installed.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
OLDEST_PYTHON = (3, 11)
STAMP = ".coilbench"


def _fail(line: str) -> None:
    print(f"coilbench: {line}", file=sys.stderr)
    raise SystemExit(4)


def environment_python() -> Path:
    """The interpreter inside the project's environment (it may not be there yet)."""
    if os.name == "nt":
        return ENVIRONMENT / "Scripts" / "python.exe"
    return ENVIRONMENT / "bin" / "python"


def apt_install(*packages: str) -> bool:
    """Install Debian packages where apt and the rights are there; False where they are not or it failed."""
    apt = shutil.which("apt-get")
    if apt is None or not hasattr(os, "geteuid") or os.geteuid() != 0:
        return False
    environment = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    install = [apt, "install", "-y", "--no-install-recommends", *packages]
    # The package lists are fetched only when needed: they may be new enough, and the net slow.
    for command in (install, [apt, "update"], install):
        done = subprocess.run(command, env=environment, stdout=subprocess.DEVNULL, check=False)
        if command is install and done.returncode == 0:
            return True
    return False


def _make_environment() -> None:
    command = [sys.executable, "-m", "venv", "--clear", str(ENVIRONMENT)]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    if made.returncode == 0:
        return
    # Debian keeps the venv module's parts in a package of their own.
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    if not (apt_install(f"python{version}-venv") or apt_install("python3-venv")):
        _fail("Python's venv module is incomplete here; install it (Debian: apt install python3-venv), run again")
    if subprocess.run(command, check=False).returncode != 0:
        _fail(f"the virtual environment {ENVIRONMENT} could not be made")


def prepare(extra: str = "") -> Path:
    """Return the interpreter of an environment that holds the project with the named extra; make it if need be.

    The environment of an extra (the tests') holds all that the bench alone needs.
    """
    if sys.version_info < OLDEST_PYTHON:
        _fail(f"Python {OLDEST_PYTHON[0]}.{OLDEST_PYTHON[1]} or newer is needed; this is {sys.version.split()[0]}")
    python = environment_python()
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()
    stamp = ENVIRONMENT / (f"{STAMP}-{extra}" if extra else STAMP)
    enough = [stamp] if extra else [stamp, *ENVIRONMENT.glob(f"{STAMP}-*")]
    if python.exists() and any(each.exists() and each.read_text() == wanted for each in enough):
        return python
    print("coilbench: preparing its environment in .venv (once, a minute or so) ...", file=sys.stderr)
    if not python.exists():
        _make_environment()
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    command = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", target]
    if subprocess.run(command, check=False).returncode != 0:
        _fail("installing the libraries it needs failed (see above); a network connection is needed the first time")
    stamp.write_text(wanted)
    return python


def run_in(python: Path, *arguments: str) -> None:
    """Become another Python process; on Windows, run it and leave with its status."""
    command = [str(python), *arguments]
    if os.name == "nt":
        raise SystemExit(subprocess.run(command, check=False).returncode)
    os.execv(command[0], command)
