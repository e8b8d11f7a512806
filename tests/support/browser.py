"""A real browser without a window, told what to do over a pipe: what a page comes to on paper.

The orders are those of the Chrome DevTools Protocol (https://chromedevtools.github.io/devtools-protocol/), one JSON
object each, ended by a zero byte.
"""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import pytest

NAMES = ("chromium-headless-shell", "chromium", "chromium-browser", "google-chrome")
MM_PER_INCH = 25.4
_PATIENCE_SECONDS = 120  # with a browser that hangs, so that the tests don't
# The program's ends of the pipe are its files 3 and 4, whatever numbers they have here.
_TAKE_OVER = (
    "import os, sys; os.dup2(int(sys.argv[1]), 3); os.dup2(int(sys.argv[2]), 4); os.execvp(sys.argv[3], sys.argv[3:])"
)


def program() -> str:
    """The browser that is installed; without one the test is skipped, which is a failure in CI."""
    found = next((each for each in map(shutil.which, NAMES) if each), None)
    if found is None:
        reason = f"not installed: {NAMES[0]}; apt-get install {NAMES[0]}"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return found


class Browser:
    """One start of the browser, with one page open."""

    def __init__(self, folder: Path) -> None:
        to_it, self._orders = os.pipe()
        self._answers, from_it = os.pipe()
        options = ("--headless", "--remote-debugging-pipe", f"--user-data-dir={folder / 'profile'}", "--no-first-run")
        rights = ("--no-sandbox",) if os.geteuid() == 0 else ()  # a sandbox is refused to the superuser
        take_over = [sys.executable, "-c", _TAKE_OVER, str(to_it), str(from_it)]
        self._process = subprocess.Popen(
            [*take_over, program(), *options, *rights, "--disable-gpu", "--disable-dev-shm-usage", "about:blank"],
            pass_fds=(to_it, from_it),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        os.close(to_it)
        os.close(from_it)
        self._read = os.fdopen(self._answers, "rb", buffering=0)
        self._kept = b""
        self._number = 0
        self._page: str | None = None
        page = self.order("Target.createTarget", url="about:blank")["targetId"]
        self._page = self.order("Target.attachToTarget", targetId=page, flatten=True)["sessionId"]
        self.order("Page.enable")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, problem: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.close(self._orders)  # it ends when its orders do
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._read.close()

    def order(self, method: str, **what: Any) -> dict[str, Any]:
        """Give an order, wait for its answer."""
        self._number += 1
        message: dict[str, Any] = {"id": self._number, "method": method, "params": what}
        if self._page is not None:
            message["sessionId"] = self._page
        os.write(self._orders, json.dumps(message).encode() + b"\0")
        answer = self._wait_for(lambda each: each.get("id") == self._number)
        assert "error" not in answer, answer
        result: dict[str, Any] = answer["result"]
        return result

    def open(self, file: Path, *, width_mm: float) -> None:
        """Show a file as it is printed, on paper whose text is so wide."""
        pixels = round(width_mm / MM_PER_INCH * 96)
        self.order("Emulation.setEmulatedMedia", media="print")
        self.order("Emulation.setDeviceMetricsOverride", width=pixels, height=1000, deviceScaleFactor=1, mobile=False)
        self.order("Page.navigate", url=file.as_uri())
        self._wait_for(lambda each: each.get("method") == "Page.loadEventFired")

    def ask(self, script: str) -> Any:
        """What an expression comes to on the page."""
        return self.order("Runtime.evaluate", expression=script, returnByValue=True)["result"].get("value")

    def pdf(self, width_mm: float, height_mm: float) -> bytes:
        """The page printed on paper of this size, in the margins it asks for."""
        size = {"paperWidth": width_mm / MM_PER_INCH, "paperHeight": height_mm / MM_PER_INCH}
        return base64.b64decode(self.order("Page.printToPDF", **size)["data"])

    def _wait_for(self, wanted: Any) -> dict[str, Any]:
        while True:
            line, found, rest = self._kept.partition(b"\0")
            if not found:
                there, _, _ = select.select([self._answers], [], [], _PATIENCE_SECONDS)
                more = os.read(self._answers, 1 << 20) if there else b""
                assert more, "the browser has gone, or says nothing any more"
                self._kept += more
                continue
            self._kept = rest
            message: dict[str, Any] = json.loads(line)
            if wanted(message):
                return message
