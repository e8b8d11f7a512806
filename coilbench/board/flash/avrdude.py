"""avrdude at work: found, run for a bounded time, and what it said put into our words."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass

from coilbench.board.flash.boards import Board, Image
from coilbench.board.link.link import open_port
from coilbench.errors import Fault

LOOK_S = 45.0  # ten attempts to be heard take some fifteen
WRITE_S = 180.0  # 26 kB at 57600 baud, written and read back, take ten
_SIGNATURE = re.compile(r"device signature = (?:0x)?((?:[0-9a-f]{2} ?){3})", re.IGNORECASE)
_SILENT = re.compile(r"not in sync|not responding|not respond|timeout|no response", re.IGNORECASE)
_DIFFERS = re.compile(r"verification error|mismatch", re.IGNORECASE)
_VERIFIED = re.compile(r"bytes of flash verified", re.IGNORECASE)


class AvrdudeMissing(Fault):
    """It isn't installed."""


class NotFlashed(Fault):
    """The sketch isn't on the board."""


@dataclass(frozen=True)
class Said:
    """How a run ended, and all it said."""

    done: bool
    text: str

    @property
    def signature(self) -> str:
        """The signature it read, six hexadecimal digits; empty where it read none."""
        found = _SIGNATURE.search(self.text)
        return found[1].replace(" ", "").upper() if found else ""

    @property
    def last(self) -> str:
        """Its last line that says something."""
        lines = [line.strip() for line in self.text.splitlines()]
        told = [line.removeprefix("avrdude: ") for line in lines if line and "done.  Thank you" not in line]
        return told[-1] if told else "nothing"


def how_to_install(platform: str = sys.platform) -> str:
    """Where avrdude comes from on this kind of computer; common practice."""
    if platform == "darwin":
        return "install it: brew install avrdude"
    if platform.startswith("win"):
        return "install it: winget install AVRDudes.AVRDUDE, then open a new terminal"
    return "install it: sudo apt install avrdude (Fedora: dnf install avrdude; Arch: pacman -S avrdude)"


class Avrdude:
    """The program; ``path`` None finds it, ``most_s`` bounds a look and a writing. Raises AvrdudeMissing."""

    def __init__(self, path: str | None = None, most_s: tuple[float, float] = (LOOK_S, WRITE_S)) -> None:
        found = path or shutil.which("avrdude")
        self._look_s, self._write_s = most_s
        if found is None:
            raise AvrdudeMissing(
                "avrdude, which writes to boards, is not on this computer",
                title="No avrdude",
                remedy=how_to_install(),
            )
        self._path = found

    def signature(self, board: Board, port: str, speed: int) -> str:
        """The signature that the boot loader on ``port`` tells, six hexadecimal digits; empty where none answers.

        Reads only. Raises LinkFault for a port that can't be used, NotFlashed for what is none of these.
        """
        said = self._run(board, port, speed, (), self._look_s)
        if not said.signature:
            open_port(port).close()  # says why where it is the port
            if said.done or not _SILENT.search(said.text):
                raise NotFlashed(f"avrdude read no signature on {port}; it said: {said.last}", title="Not named")
        return said.signature

    def write(self, board: Board, port: str, speed: int, image: Image) -> None:
        """Write ``image`` and read it back. Raises LinkFault, NotFlashed."""
        work = ("-U", f"flash:w:{image.path.name}:i")
        said = self._run(board, port, speed, work, self._write_s, folder=str(image.path.parent))
        if said.done and _VERIFIED.search(said.text):
            return
        open_port(port).close()  # says why where it is the port
        if _DIFFERS.search(said.text):
            raise NotFlashed(
                f"what was written to the board on {port} reads back otherwise",
                title="Not written",
                remedy="write it once more; if that fails too, the cable or the chip's memory is bad",
            )
        if _SILENT.search(said.text):
            raise NotFlashed(
                f"the board on {port} fell silent while it was written, and holds no whole sketch",
                title="Not written",
                remedy="its boot loader is still there: write it once more, with a shorter cable where there is one",
            )
        happened = "did not say that it verified" if said.done else "failed"
        raise NotFlashed(
            f"avrdude {happened} on {port}; it said: {said.last}", title="Not written", remedy="write it once more"
        )

    def _run(self, board: Board, port: str, speed: int, work: Sequence[str], most_s: float, folder: str = "") -> Said:
        # -D: a boot loader erases page by page and can't erase the chip.
        command = [self._path, "-p", board.part, "-c", board.programmer, "-P", port, "-b", str(speed), "-D", *work]
        try:
            ended = subprocess.run(
                command,
                cwd=folder or None,
                env={**os.environ, "LC_ALL": "C"},
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                timeout=most_s,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return Said(False, f"no response from avrdude within {most_s:.0f} s")
        except OSError as problem:
            raise AvrdudeMissing(
                f"{self._path} can't be run: {problem.strerror}", title="No avrdude", remedy=how_to_install()
            ) from problem
        return Said(ended.returncode == 0, ended.stdout.decode("utf-8", "replace"))
