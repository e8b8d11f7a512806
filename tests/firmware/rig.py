"""What a test needs of the simulated board: one call opens it, ``Host`` asks and answers by the protocol."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import pytest

from coilbench.board.link.frames import Frame, decode, encode
from tests.firmware import simulator, toolchain

CHIPS: tuple[str, ...] = tuple(toolchain.CHIPS)


def need(lacking: list[str], *, in_ci: bool) -> None:
    """Skip where something is ``lacking``; in CI that is a failure."""
    if not lacking:
        return
    reason = f"not installed: {', '.join(lacking)}; apt-get install {toolchain.APT_PACKAGES}"
    if in_ci:
        pytest.fail(reason)
    pytest.skip(reason)


def need_toolchain() -> None:
    """Skip, or fail in CI, where the compilers and the simulator are not installed."""
    need(toolchain.missing(), in_ci=bool(os.environ.get("CI")))


def new_chip(
    chip: str, config: Mapping[str, int | str] | None = None, pins: Mapping[str, Any] | None = None
) -> simulator.SimulatedChip:
    """A chip with the sketch in it, just out of reset; with other values in board_config.h if wanted."""
    need_toolchain()
    library = simulator.BenchLibrary(toolchain.bench_library())
    elf = toolchain.sketch_elf(chip, config)
    return simulator.SimulatedChip(library, chip, elf, pins or simulator.PINS[chip])


@contextmanager
def open_simulated_board(
    chip: str, config: Mapping[str, int | str] | None = None, pins: Mapping[str, Any] | None = None
) -> Iterator[Any]:
    """A pyserial-like port with the compiled sketch behind it, in virtual time.

    ``port.chip`` is the simulated chip; ``port.monotonic`` and ``port.sleep`` are its clock. On closing, no byte
    may have been lost and no timer compare missed.
    """
    simulated = new_chip(chip, config, pins)
    port = simulator.VirtualSerial(simulated)
    try:
        yield port
        assert simulated.receive_overruns == 0, "the receiver lost bytes"
        assert simulated.late_compares == 0, "a step time was set behind the timer"
    finally:
        simulated.close()


class Host:
    """The host's side, as plain as can be: numbers the frames, sorts answers from events."""

    def __init__(self, port: Any, *, greet: bool = True) -> None:
        self.port = port
        self.chip = port.chip
        self.events: list[Frame] = []
        self._line = b""
        self.hello = self.event("hello")
        self.next = self.hello.whole("next")
        if greet:
            self.ask("hello", protocol=1)

    def event(self, word: str, within_s: float = 1.0) -> Frame:
        """The next event ``word``; earlier ones that were not asked for stay in ``events``."""
        end = self.port.monotonic() + within_s
        while True:
            for place, frame in enumerate(self.events):
                if frame.word == word:
                    return self.events.pop(place)
            assert self.port.monotonic() < end, f"no {word} event; had {self.events}"
            self._take(end - self.port.monotonic())

    def _take(self, wait_s: float) -> Frame | None:
        """One line from the board; events are kept and None is returned for them, and for silence."""
        self.port.timeout = max(wait_s, 0.0)
        self._line += self.port.read_until(b"\n")
        if not self._line.endswith(b"\n"):
            return None
        line, self._line = self._line[:-1], b""
        frame = decode(line)
        assert isinstance(frame, Frame), line
        if frame.kind == "tell":
            self.events.append(frame)
            return None
        return frame

    def answer(self, within_s: float = 0.5) -> Frame:
        """The next answer."""
        end = self.port.monotonic() + within_s
        while self.port.monotonic() < end:
            frame = self._take(end - self.port.monotonic())
            if frame is not None:
                return frame
        raise AssertionError("no answer")

    def frame(self, word: str, **fields: int | str) -> bytes:
        """The next numbered frame, line end and all."""
        line = encode(Frame("ask", self.next, word, dict(fields))) + b"\n"
        self.next = self.next % 65535 + 1
        return line

    def send(self, line: bytes) -> Frame:
        """Send a line as it is; its answer."""
        self.port.write(line)
        return self.answer()

    def ask(self, word: str, **fields: int | str) -> Frame:
        """Ask and insist on a yes."""
        answer = self.send(self.frame(word, **fields))
        assert answer.kind == "yes", answer
        return answer

    def refused(self, word: str, **fields: int | str) -> Frame:
        """Ask and insist on a no."""
        answer = self.send(self.frame(word, **fields))
        assert answer.kind == "no", answer
        return answer

    def exchange(self, lines: bytes) -> list[Frame]:
        """Say ``lines``, each when the one before was answered; the answers. Events are kept."""
        self._line += self.chip.exchange(lines)
        *whole, self._line = self._line.split(b"\n")
        frames = [decode(line) for line in whole]
        assert all(isinstance(frame, Frame) for frame in frames), frames
        self.events += [frame for frame in frames if frame.kind == "tell"]
        return [frame for frame in frames if frame.kind != "tell"]

    def wait(self, ms: float) -> None:
        """Let time pass in silence, keeping what the board tells."""
        end = self.port.monotonic() + ms / 1000
        while self.port.monotonic() < end:
            frame = self._take(end - self.port.monotonic())
            assert frame is None, frame

    def run_to_stop(self, limit_s: float = 60.0, beat_ms: int = 150) -> Frame:
        """Beat as a host does until motion ends; the stop event."""
        end = self.port.monotonic() + limit_s
        while not any(frame.word == "stop" for frame in self.events):
            assert self.port.monotonic() < end, "motion does not end"
            self.wait(beat_ms)
            self.ask("beat")
        return self.event("stop")
