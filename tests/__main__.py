"""`python3 tests`: makes the environment, checks the house rules, runs every test. Arguments go to pytest."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT / "coilbench"))
from setup_env import apt_install, prepare  # noqa: E402

# What compiles, simulates and writes the helper sketch, the circuit simulator that checks our own networks, and a
# browser without a window that prints the cards.
TOOLCHAIN = {
    "avr-g++": ("gcc-avr", "avr-libc", "binutils-avr", "arduino-core-avr", "libsimavr-dev", "libelf-dev"),
    "gcc": ("gcc", "g++", "libc6-dev"),
    "avrdude": ("avrdude",),
    "ngspice": ("ngspice",),
    "chromium-headless-shell": ("chromium-headless-shell",),
}

# Checks that look at the text alone.
OF_THE_TEXT = (
    ("ruff", "check", "."),
    ("ruff", "format", "--check", "."),
    ("mypy",),
    ("lint-imports",),
)


def install_toolchain() -> None:
    """Install what is missing where that is possible; the tests that need it say so themselves where it isn't."""
    missing = {tool: packages for tool, packages in TOOLCHAIN.items() if not shutil.which(tool)}
    if not Path("/usr/include/simavr/sim_avr.h").exists():
        missing["simavr"] = ("libsimavr-dev", "libelf-dev")
    together = dict.fromkeys(package for packages in missing.values() for package in packages)
    if not together or apt_install(*together):
        return
    # One that a system doesn't have keeps none of the others out.
    lacking = [package for packages in missing.values() if not apt_install(*packages) for package in packages]
    if lacking:
        print(f"not installed here: {' '.join(lacking)}; tests that need them say so", flush=True)


def main(arguments: list[str]) -> int:
    """Run each check in turn; the first failure decides the exit status, but every check is run."""
    python = prepare("test")
    install_toolchain()
    # A test of a screen waits half its time until the process is idle: more of them at once than there are cores.
    cores = os.cpu_count() or 1
    workers = str(min(3 * cores, 8)) if cores > 1 else "0"
    # What was compiled is kept: the workers, and each command that a test starts, would all compile the whole anew.
    environment = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}

    def command(*words: str) -> list[str]:
        return [str(python.with_name(words[0])), *words[1:]]

    def failure(*check: str) -> int:
        print(f"== {' '.join(check)}", flush=True)
        return subprocess.run(command(*check), cwd=ROOT, env=environment, check=False).returncode

    collect, quiet = command("pytest", "--collect-only", *arguments), subprocess.DEVNULL
    with subprocess.Popen(collect, cwd=ROOT, env=environment, stdout=quiet, stderr=quiet):  # it compiles meanwhile
        statuses = [failure(*check) for check in OF_THE_TEXT]
    statuses.append(failure("pytest", "-n", workers, "--dist", "worksteal", *arguments))
    return next((status for status in statuses if status), 0)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
