"""Makes the project's own virtual environment in a checkout, so that one command is enough on a fresh machine.

Standard library alone: it runs before anything is installed. The environment is made beside its place, by one start
at a time, and moved there when it is whole: one that is interrupted, or doubled, hinders no later one.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import IO

ROOT = Path(__file__).resolve().parent.parent
OLDEST_PYTHON = (3, 11)
STAMP = ".coilbench"
# As long as the name it is given in the end: the scripts that pip writes hold the path of their interpreter, some of
# them in a place that may not grow or shrink.
_NAME, _BESIDE = ".venv", ".vnew"
_LOCK = ".venv.lock"


def _fail(line: str) -> None:
    print(f"coilbench: {line}", file=sys.stderr)
    raise SystemExit(4)


def environment_python(environment: Path | None = None) -> Path:
    """The interpreter inside the project's environment (it may not be there yet)."""
    place = environment or ROOT / _NAME
    return place / "Scripts" / "python.exe" if os.name == "nt" else place / "bin" / "python"


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


def prepare(extra: str = "") -> Path:
    """Return the interpreter of an environment that holds the project with the named extra; make it if need be.

    The environment of an extra (the tests') holds all that the bench alone needs.
    """
    if sys.version_info < OLDEST_PYTHON:
        _fail(f"Python {OLDEST_PYTHON[0]}.{OLDEST_PYTHON[1]} or newer is needed; this is {sys.version.split()[0]}")
    try:
        if not _ready(extra):
            with _alone():
                if not _ready(extra):  # another start may have made it meanwhile
                    _make(extra)
    except KeyboardInterrupt:
        print("\ncoilbench: stopped; the next start begins again", file=sys.stderr)
        raise SystemExit(130) from None
    except OSError as problem:
        _fail(f"the environment can't be made: {problem}")
    return environment_python()


def _ready(extra: str) -> bool:
    environment = ROOT / _NAME
    stamp = _stamp(environment, extra)
    enough = [stamp] if extra else [stamp, *environment.glob(f"{STAMP}-*")]
    wanted = _wanted()
    return environment_python().exists() and any(each.exists() and each.read_text() == wanted for each in enough)


def _stamp(environment: Path, extra: str) -> Path:
    return environment / (f"{STAMP}-{extra}" if extra else STAMP)


def _wanted() -> str:
    """What an environment must have been made for."""
    return hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + sys.version.encode()).hexdigest()


@contextlib.contextmanager
def _alone() -> Iterator[None]:
    """Held by one start at a time; the system lets go of it when the holder dies, however it does."""
    with (ROOT / _LOCK).open("a") as file:
        if not _locked(file, wait=False):
            print("coilbench: another start is preparing the environment, waiting for it ...", file=sys.stderr)
            _locked(file, wait=True)
        yield


def _locked(file: IO[str], *, wait: bool) -> bool:
    try:
        if os.name == "nt":
            import msvcrt

            mode = msvcrt.LK_LOCK if wait else msvcrt.LK_NBLCK  # type: ignore[attr-defined,unused-ignore]
            file.seek(0)
            msvcrt.locking(file.fileno(), mode, 1)  # type: ignore[attr-defined,unused-ignore]
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except OSError:
        if wait:
            raise
        return False
    return True


def _make(extra: str) -> None:
    """Install into the environment that is there, if it works; else make one beside its place and move it there."""
    print("coilbench: preparing its environment in .venv (once, a minute or so) ...", file=sys.stderr)
    _remove(ROOT / _BESIDE)  # what an interrupted start left
    if _has_pip(ROOT / _NAME):
        _install(ROOT / _NAME, extra)
        return
    beside = ROOT / _BESIDE
    _make_environment(beside)
    _install(beside, extra)
    _tell_scripts_their_place(beside)
    old = ROOT / f"{_BESIDE}.old"
    _remove(old)
    with contextlib.suppress(FileNotFoundError):
        (ROOT / _NAME).rename(old)
    beside.rename(ROOT / _NAME)
    _remove(old)


def _has_pip(environment: Path) -> bool:
    """Whether an environment works: one whose making was interrupted has an interpreter and no pip."""
    python = environment_python(environment)
    asked = [str(python), "-m", "pip", "--version"]
    return python.exists() and subprocess.run(asked, capture_output=True, check=False).returncode == 0


def _install(environment: Path, extra: str) -> None:
    """The project and what it needs; while that is under way no stamp says that the environment is whole."""
    stamps = {each: each.read_text() for each in environment.glob(f"{STAMP}*")}
    for each in stamps:
        each.unlink()
    target = f"{ROOT}[{extra}]" if extra else str(ROOT)
    python = str(environment_python(environment))
    command = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", "-e", target]
    if subprocess.run(command, check=False).returncode != 0:
        for each, text in stamps.items():  # pip has fetched nothing, and changed nothing
            each.write_text(text)
        _fail("installing the libraries it needs failed (see above); a network connection is needed the first time")
    _stamp(environment, extra).write_text(_wanted())


def _make_environment(place: Path) -> None:
    command = [sys.executable, "-m", "venv", "--clear", str(place)]
    made = subprocess.run(command, capture_output=True, text=True, check=False)
    if made.returncode == 0:
        return
    # Debian keeps the venv module's parts in a package of their own.
    version = f"{sys.version_info.major}.{sys.version_info.minor}"
    if not (apt_install(f"python{version}-venv") or apt_install("python3-venv")):
        _fail("Python's venv module is incomplete here; install it (Debian: apt install python3-venv), run again")
    if subprocess.run(command, check=False).returncode != 0:
        _fail(f"the virtual environment {place} could not be made")


def _tell_scripts_their_place(beside: Path) -> None:
    """Write the final path into whatever holds that of the place beside: the scripts' first lines, ``activate``."""
    before, after = os.fsencode(beside), os.fsencode(ROOT / _NAME)
    for file in (beside / "pyvenv.cfg", *environment_python(beside).parent.iterdir()):
        if file.is_file() and not file.is_symlink():
            data = file.read_bytes()
            if before in data:
                file.write_bytes(data.replace(before, after))


def _remove(place: Path) -> None:
    if place.is_symlink():
        place.unlink()
    elif place.exists():
        shutil.rmtree(place)


def run_in(python: Path, *arguments: str) -> None:
    """Become another Python process; on Windows, run it and leave with its status."""
    command = [str(python), *arguments]
    if os.name == "nt":
        raise SystemExit(subprocess.run(command, check=False).returncode)
    os.execv(command[0], command)
