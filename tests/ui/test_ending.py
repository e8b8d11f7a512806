"""A bench that is told to end, ends, whatever its screen does; what a board moves is stopped first."""

from __future__ import annotations

import os
import pty
import select
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.support.more import some

PATIENCE_SECONDS = 60.0
# The bench on a terminal; its screen's loop is stuck for good once a key is hit. A session notes that it was stopped.
STUCK = """
import sys
from pathlib import Path

from coilbench.records.config import Config
from coilbench.ui import app as bench
from coilbench.ui.ending import watched_over

STYLES = Path(bench.__file__).parent


class Session:
    def stop(self):
        Path(sys.argv[2]).write_text("stopped")


class Stuck(bench.BenchApp):
    CSS_PATH = [STYLES / each for each in bench.BenchApp.CSS_PATH]
    at_work = Session()

    def action_app_diagnosis(self):
        print("stuck now", file=sys.__stderr__, flush=True)
        while True:
            pass


app = Stuck(Path(sys.argv[1]), config=Config())
with watched_over(app):
    raise SystemExit(app.run())
"""
F9 = b"\x1b[20~"
WAYS = [(signal.SIGTERM, 143), (signal.SIGHUP, 129), (signal.SIGINT, 130), (None, 129)]


class Bench:
    """A bench in a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.stopped, self.faults = folder / "stopped", folder / "state" / "coilbench" / "faults.log"
        self.terminal, far_end = pty.openpty()
        program = folder / "stuck.py"
        program.write_text(STUCK)
        self.process = subprocess.Popen(
            [sys.executable, str(program), str(folder / "own.bin"), str(self.stopped)],
            stdin=far_end,
            stdout=far_end,
            stderr=far_end,
            start_new_session=True,
            env={**os.environ, "TERM": "xterm-256color", "XDG_STATE_HOME": str(folder / "state")},
        )
        os.close(far_end)

    def shows(self, text: bytes) -> bytes:
        """Wait for a text on the terminal; what was drawn since the last one."""
        seen, deadline = b"", time.monotonic() + PATIENCE_SECONDS
        while text not in seen:
            assert time.monotonic() < deadline, seen[-2000:]
            if select.select([self.terminal], [], [], 0.2)[0]:
                seen += os.read(self.terminal, 65536)
        return seen

    def get_stuck(self) -> None:
        self.shows(b"No motor here yet")
        os.write(self.terminal, F9)
        self.shows(b"stuck now")


@pytest.mark.parametrize(("way", "status"), some(WAYS, of=(WAYS[0], WAYS[-1]), rows=True))
def test_a_stuck_screen_ends_all_the_same_and_the_motor_stops(tmp_path: Path, faults_expected, way, status) -> None:
    bench = Bench(tmp_path)
    try:
        bench.get_stuck()
        if way is None:  # the window is closed
            os.close(bench.terminal)
        else:
            bench.process.send_signal(way)
            bench.shows(b"\x1b[?1049l")  # the terminal is given back
            os.close(bench.terminal)
        assert bench.process.wait(PATIENCE_SECONDS) == status
        assert bench.stopped.read_text() == "stopped"
        assert "action_app_diagnosis" in bench.faults.read_text()
    finally:
        bench.process.kill()
        bench.process.wait()


def test_an_interrupt_ends_a_sound_screen_in_good_order(tmp_path: Path) -> None:
    bench = Bench(tmp_path)
    try:
        bench.shows(b"No motor here yet")
        bench.process.send_signal(signal.SIGINT)
        seen = bench.shows(b"\x1b[?1049l")
        assert bench.process.wait(PATIENCE_SECONDS) == 130
        assert b"Traceback" not in seen and not bench.faults.exists()
    finally:
        bench.process.kill()
        bench.process.wait()
        os.close(bench.terminal)


@pytest.mark.parametrize("module", ["argparse", "coilbench.cli.screen", "textual.app", "coilbench.ui.screens.bin"])
def test_an_interrupt_while_it_starts_leaves_no_traceback(tmp_path: Path, module: str) -> None:
    terminal, far_end = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, "-X", "importtime", "-m", "coilbench", "--bin", str(tmp_path / "own.bin")],
        stdin=far_end,
        stdout=far_end,
        stderr=far_end,
        start_new_session=True,
        env={**os.environ, "TERM": "xterm-256color", "XDG_STATE_HOME": str(tmp_path / "state")},
    )
    os.close(far_end)
    seen = b""
    try:
        while f" {module}\r".encode() not in seen:  # each import is told when it is done
            seen += os.read(terminal, 4096)
        process.send_signal(signal.SIGINT)
        while select.select([terminal], [], [], PATIENCE_SECONDS)[0]:
            try:
                seen += os.read(terminal, 65536)
            except OSError:  # it has ended
                break
        assert process.wait(PATIENCE_SECONDS) in (-signal.SIGINT, 130)
        assert b"Traceback" not in seen and b"KeyboardInterrupt" not in seen
    finally:
        process.kill()
        process.wait()
        os.close(terminal)
