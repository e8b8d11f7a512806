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

# What compiles and simulates the helper sketch, and the circuit simulator that checks our own networks.
TOOLCHAIN = {
    "avr-g++": ("gcc-avr", "avr-libc", "binutils-avr", "arduino-core-avr", "libsimavr-dev", "libelf-dev"),
    "gcc": ("gcc", "g++", "libc6-dev"),
    "ngspice": ("ngspice",),
}


def install_toolchain() -> None:
    """Install what is missing where that is possible; the tests that need it say so themselves where it isn't."""
    missing = [package for tool, packages in TOOLCHAIN.items() if not shutil.which(tool) for package in packages]
    if not Path("/usr/include/simavr/sim_avr.h").exists():
        missing += ["libsimavr-dev", "libelf-dev"]
    if missing and not apt_install(*dict.fromkeys(missing)):
        print(f"not installed here: {' '.join(dict.fromkeys(missing))}; tests that need them say so", flush=True)


def main(arguments: list[str]) -> int:
    """Run each check in turn; the first failure decides the exit status, but every check is run."""
    python = prepare("test")
    install_toolchain()
    # A test of a screen waits half its time until the process is idle: more of them at once than there are cores.
    cores = os.cpu_count() or 1
    workers = str(min(2 * cores, 8)) if cores > 1 else "0"
    checks = [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
        ["lint-imports"],
        ["pytest", "-n", workers, "--dist", "worksteal", *arguments],
    ]
    status = 0
    for check in checks:
        print(f"== {' '.join(check)}", flush=True)
        command = [str(python.with_name(check[0])), *check[1:]]
        status = subprocess.run(command, cwd=ROOT, check=False).returncode or status
    return status


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
