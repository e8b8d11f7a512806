"""A line to an instrument that speaks SCPI: one question, one answer, and back in step after whatever went wrong.

IEEE 488.2: program messages end with LF; a status register that can be written and read back (``*ESE``) tells which
answer belongs to which question. SCPI-1999: Volume 1, section 21.8, the error queue.
"""

from __future__ import annotations

import contextlib
import re
import time
from collections.abc import Callable
from itertools import cycle
from typing import Any

from coilbench.board.link.faults import LinkFault, port_fault
from coilbench.errors import Fault

_SLICE_S = 0.05
_LONGEST = 300  # characters of one answer
_BACK_IN_STEP_S = 12.0  # the latest an answer may come that nobody waits for any more
_STATUS_S = 3.0
_MOST_ERRORS = 40  # a queue holds some twenty
_ERROR = re.compile(r'([+-]?\d{1,5})\s*,\s*"?([^"]*)"?')


class MeterFault(Fault):
    """The meter, or what it says, can't be used."""

    usual_title = "The meter"


class MeterLine:
    """Questions to an instrument over an open port; for one thread."""

    def __init__(self, port: Any, name: str) -> None:
        self.name = name
        self.port = port
        self.now: Callable[[], float] = getattr(port, "monotonic", time.monotonic)
        self._rest = b""
        self._tokens = cycle(range(101, 127))
        self._in_step = False

    def tell(self, text: str) -> None:
        """Send a command that has no answer. Raises LinkFault."""
        try:
            self.port.write(text.encode("ascii") + b"\n")
        except (OSError, ValueError, TypeError) as problem:
            raise self._fault(problem) from problem

    def ask(self, text: str, wait_s: float) -> str | None:
        """The answer to a question; None where no whole line came in time. Raises LinkFault, MeterFault."""
        if not self._in_step:
            self.get_in_step()
        self.tell(text)
        answer = self.line(wait_s)
        self._in_step = answer is not None
        return answer

    def line(self, wait_s: float) -> str | None:
        """The next line that comes within ``wait_s``, without its end. Raises LinkFault."""
        until_s = self.now() + wait_s
        while True:
            while (end := self._rest.find(b"\n")) >= 0:
                line, self._rest = self._rest[:end], self._rest[end + 1 :]
                if text := line.decode("ascii", "replace").strip():
                    return text
            left_s = until_s - self.now()
            if left_s <= 0:
                return None
            self._rest = (self._rest + self._read(min(left_s, _SLICE_S)))[-_LONGEST:]

    def lost(self) -> None:
        """What came was no answer to what was asked: find back into step before the next question."""
        self._in_step = False

    def get_in_step(self) -> None:
        """Pass over whatever still comes, until a register reads back as it was just written. Raises MeterFault."""
        until_s = self.now() + _BACK_IN_STEP_S
        while self.now() < until_s:
            token = next(self._tokens)
            self._rest = b""
            self.tell("")  # ends what was cut short
            self.tell(f"*ESE {token}")
            self.tell("*ESE?")
            seen_until_s = self.now() + _STATUS_S
            while (left_s := seen_until_s - self.now()) > 0:
                line = self.line(left_s)
                if line is not None and line.lstrip("+") == str(token):
                    self._in_step = True
                    return
        raise MeterFault(
            f"the meter on {self.name} no longer answers",
            title="Meter silent",
            remedy="look at its cable and that it is set to its serial port, then measure again",
        )

    def errors(self) -> list[tuple[int, str]]:
        """What stands in its error queue, oldest first; the queue is empty afterwards."""
        found: list[tuple[int, str]] = []
        while len(found) < _MOST_ERRORS:
            told = _ERROR.fullmatch(self.ask("SYST:ERR?", _STATUS_S) or "")
            if told is None or int(told[1]) == 0:
                break
            found.append((int(told[1]), told[2]))
        return found

    def close(self) -> None:
        """Close the port; never raises."""
        with contextlib.suppress(OSError, ValueError):
            self.port.close()

    def _read(self, wait_s: float) -> bytes:
        try:
            self.port.timeout = wait_s
            data = bytes(self.port.read(1))
            return data + bytes(self.port.read(self.port.in_waiting)) if data and self.port.in_waiting else data
        except (OSError, ValueError, TypeError) as problem:
            raise self._fault(problem) from problem

    def _fault(self, problem: BaseException) -> LinkFault:
        fault = port_fault(self.name, problem)
        if "went away" in fault.happened:
            fault = type(fault)(
                f"the meter on {self.name} went away",
                title="Meter unplugged",
                remedy="plug it in and measure again; what was measured is kept",
            )
        return fault
