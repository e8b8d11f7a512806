"""How long the commands and the screen take to stand, against the least that Python and Textual need."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from pathlib import Path

from table import Row

from coilbench.records.store import Bin

ROOT = Path(__file__).resolve().parent.parent.parent
MARK = "first-motor"
BARE_APP = f"""
from textual.app import App
from textual.widgets import Static

class Bare(App):
    def compose(self):
        yield Static("{MARK}")

Bare().run()
"""
ROUNDS = 9


def command_starts() -> list[Row]:
    """--help and --version against bare Python"""
    wanted = {"bare": ["-c", "pass"], "--help": ["-m", "coilbench", "--help"]}
    wanted["--version"] = ["-m", "coilbench", "--version"]
    times: dict[str, list[float]] = {name: [] for name in wanted}
    for _ in range(2 * ROUNDS):  # taken in turn, so that a busy moment meets all alike
        for name, arguments in wanted.items():
            begun = time.perf_counter()
            subprocess.run([sys.executable, *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, check=True)
            times[name].append(time.perf_counter() - begun)
    bare = statistics.median(times.pop("bare"))
    return [
        _against(f"coilbench {name}", statistics.median(each), "bare Python", bare, 3.0)
        for name, each in times.items()
    ]


def first_screens() -> list[Row]:
    """the first useful screen against a bare Textual app, and the memory it takes"""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "motors.db"
        with Bin.open(path) as bin_:
            bin_.add_motor(MARK, ["RD", "BU", "WH", "BK"])
        ours = [sys.executable, "-m", "coilbench", "--bin", str(path)]
        bare = [sys.executable, "-c", BARE_APP]
        times: dict[str, list[float]] = {"ours": [], "bare": []}
        for _ in range(ROUNDS):
            for name, command in (("ours", ours), ("bare", bare)):
                times[name].append(until_shown(command, folder)[0])
        megabytes = until_shown(ours, folder, then_keys=b"\r", settle_seconds=4.0)[1]
    screen = _against(
        "first useful screen", statistics.median(times["ours"]), "bare", statistics.median(times["bare"]), 1.25
    )
    return [screen, Row("resident memory", "a motor's sheet open, its first question asked", megabytes, 120.0, "MB")]


def _against(name: str, ours: float, what: str, other: float, limit: float) -> Row:
    return Row(name, f"{1000 * ours:.0f} ms, {what} {1000 * other:.0f} ms", ours / other, limit, "times")


def until_shown(
    command: list[str], folder: str, mark: str = MARK, *, then_keys: bytes = b"", settle_seconds: float = 0.0
) -> tuple[float, float]:
    """Seconds until the mark stands on an 80x24 terminal; the resident megabytes some keys and a pause later."""
    environment = {**os.environ, "TERM": "xterm-256color", "COILBENCH_CONFIG": f"{folder}/none.toml"}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # no start but the first compiles anything
    begun = time.perf_counter()
    child, terminal = pty.fork()
    if child == 0:
        os.chdir(ROOT)
        os.execve(command[0], command, environment)
    try:
        fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
        taken = _read_until(terminal, mark.encode(), begun + 30) - begun
        os.write(terminal, then_keys)
        _read_until(terminal, None, time.perf_counter() + settle_seconds)
        status = Path(f"/proc/{child}/status")
        lines = status.read_text().splitlines() if status.exists() else []
        kilobytes = next((int(line.split()[1]) for line in lines if line.startswith("VmRSS")), 0)
    finally:
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        os.close(terminal)
    return taken, kilobytes / 1024


def _read_until(terminal: int, mark: bytes | None, deadline: float) -> float:
    """Take in what is drawn until ``mark`` comes by (or, without one, until the deadline); return the time."""
    seen = b""
    while (left := deadline - time.perf_counter()) > 0:
        if select.select([terminal], [], [], left)[0]:
            try:
                seen = seen[-4000:] + os.read(terminal, 65536)
            except OSError:  # the program has ended
                break
            if mark is not None and mark in seen:
                return time.perf_counter()
    if mark is not None:
        raise SystemExit(f"the screen never showed {mark!r}, but at last: {seen!r}")
    return deadline
