"""A line to a board: opens a port by URL, carries frames, turns the system's errors into our own, keeps a log."""

from __future__ import annotations

import contextlib
import json
import threading
import time
from collections import deque
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import IO, Any

import serial

from coilbench.board.link.faults import LinkFault, PortMissing, port_fault
from coilbench.board.link.frames import Decoder, Frame, Item, encode
from coilbench.board.link.replug import ListPorts, PortMark, mark_of, system_ports
from coilbench.errors import InputProblem

BAUD = 115_200
_READ_SLICE_S = 0.02
# A wait shorter than the clock's grain would never pass.
_READ_LEAST_S = 0.0005
_HANDLERS = "coilbench.board.virtual.ports"

if _HANDLERS not in serial.protocol_handler_packages:
    serial.protocol_handler_packages.append(_HANDLERS)


class ConversationLog:
    """What both sides said, one JSON object a line: ``at`` (seconds), ``from`` (bench or board), ``said``.

    A new file; ``more`` is for going on with one's own. Raises FileExistsError for one that is there.
    """

    def __init__(self, path: Path, *, more: bool = False) -> None:
        self._file: IO[str] = path.open("a" if more else "x", encoding="ascii", buffering=1)

    def add(self, at_s: float, who: str, data: bytes) -> None:
        """Note ``data``; bytes are written as the characters of the same number."""
        entry = {"at": round(at_s, 4), "from": who, "said": data.decode("latin-1")}
        self._file.write(json.dumps(entry) + "\n")

    def close(self) -> None:
        """End the log."""
        self._file.close()


class Link:
    """Frames over an open port. Sending is safe from any thread; receiving is for one."""

    def __init__(self, port: Any, name: str, log: ConversationLog | None = None) -> None:
        self.name = name
        self.port = port
        self.seen = b""  # the first bytes that came, to tell another device by
        self.mark: PortMark | None = None  # to know the board by when it comes back
        self._log = log
        self._decoder = Decoder()
        self._items: deque[Item] = deque()
        self._sending = threading.Lock()

    def now(self) -> float:
        """The clock that this line goes by, seconds: a virtual board may bring its own."""
        own_clock = getattr(self.port, "monotonic", None)
        return float(own_clock()) if own_clock else time.monotonic()

    def send(self, frame: Frame) -> None:
        """Send one frame. Raises LinkFault."""
        self.send_line(encode(frame))

    def send_line(self, line: bytes) -> None:
        """Send one line, LF added. Raises LinkFault."""
        data = line + b"\n"
        try:
            with self._sending:
                self.port.write(data)
                if self._log:
                    self._log.add(self.now(), "bench", data)
        except (OSError, ValueError, TypeError) as problem:
            raise self._fault(problem) from problem

    def receive(self, wait_s: float) -> Item | None:
        """The next item from the board, or None when none came within ``wait_s``. Raises LinkFault."""
        until_s = self.now() + wait_s
        while not self._items:
            left_s = until_s - self.now()
            data = self._read(min(max(left_s, _READ_LEAST_S), _READ_SLICE_S))
            if data:
                self.seen = (self.seen + data)[:64]
                self._items.extend(self._decoder.feed(data))
            # Looked at even while bytes come: another device may send without end and without a line's end.
            if left_s <= 0 and not self._items:
                return None
        return self._items.popleft()

    def close(self) -> None:
        """Close the port; never raises."""
        with contextlib.suppress(OSError, ValueError):
            self.port.close()
        if self._log:
            self._log.close()
            self._log = None

    def _read(self, wait_s: float) -> bytes:
        try:
            self.port.timeout = wait_s
            data = bytes(self.port.read(1))
            if data:
                waiting = self.port.in_waiting
                if waiting:
                    data += self.port.read(waiting)
                if self._log:
                    self._log.add(self.now(), "board", data)
            return data
        # pyserial lets TypeError through when a port is closed under a reader.
        except (OSError, ValueError, TypeError) as problem:
            raise self._fault(problem) from problem

    def _fault(self, problem: BaseException) -> LinkFault:
        return port_fault(self.name, problem)


# Begins a log once the port is open.
BeginLog = Callable[[], ConversationLog | None]


OpenPort = Callable[[str], Any]


def open_port(name: str) -> Any:
    """Open the port ``name``, or any URL that pyserial knows. Raises LinkFault."""
    try:
        port = serial.serial_for_url(name, baudrate=BAUD, write_timeout=1.0, timeout=_READ_SLICE_S, do_not_open=True)
        if hasattr(port, "exclusive") and "://" not in name:
            port.exclusive = True
        port.open()
    except (OSError, ValueError, ImportError) as problem:
        raise port_fault(name, problem) from problem
    return port


class Ports:
    """The computer's ports, and what was on each when it was last open: a board may come back under another name."""

    def __init__(self, opener: OpenPort = open_port, lister: ListPorts = system_ports) -> None:
        self._open, self._list = opener, lister
        self._marks: dict[str, PortMark] = {}  # by the name asked for

    def open(self, url: str, was: PortMark | None = None) -> tuple[Any, str]:
        """An open port and the name it has now; ``was`` as for ``open_link``. Raises LinkFault."""
        name = was.find(self._list()) if was else url
        try:
            return self._open(name), name
        except PortMissing:
            if was or url not in self._marks:
                raise
        name = self._marks[url].find(self._list())
        return self._open(name), name

    def mark(self, url: str, name: str) -> PortMark | None:
        """What the board on ``name``, asked for as ``url``, is to be known by; None where nothing tells it."""
        mark = mark_of(name, self._list()) if "://" not in name else None
        if mark:
            self._marks[url] = mark
        return mark


SYSTEM = Ports()


def open_link(
    url: str, log: Path | BeginLog | None = None, was: PortMark | None = None, ports: Ports = SYSTEM
) -> Link:
    """Open ``url``: a port's name, ``virtual://...``, ``replay://FILE`` or any URL that pyserial knows.

    ``was`` is the mark of a board that was unplugged: it is looked for wherever it came back, whatever is on ``url``
    now. Without it a port that is no longer there is followed to where its board has gone.
    Raises LinkFault, sorted by what the person can do about it; InputProblem for no name at all.
    """
    if not url.strip():
        raise InputProblem("no port is named; expected such as /dev/ttyACM0, COM3 or virtual://bench")
    begin_log: BeginLog | None = partial(ConversationLog, log) if isinstance(log, Path) else log
    port, name = ports.open(url, was)
    try:
        link = Link(port, name, begin_log() if begin_log else None)
    except FileExistsError as problem:
        port.close()
        raise InputProblem(f"{problem.filename} is there already", remedy="choose another name for the log") from None
    except OSError as problem:
        port.close()
        raise LinkFault(f"the log can't be written: {problem}", title="No log") from problem
    link.mark = ports.mark(url, name)
    return link
