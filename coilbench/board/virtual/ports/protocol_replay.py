"""``replay://FILE``: a port that says again what a board said, as a conversation log has it.

What the board said after the bench's n-th line comes once the bench has sent n lines; times are not kept.
"""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

from serial import PortNotOpenError, SerialBase, SerialException

_MOST_BYTES = 64_000_000


class Serial(SerialBase):
    """A pyserial port."""

    def open(self) -> None:
        """Read the log and begin anew."""
        if self.port is None:
            raise SerialException("Port must be configured before it can be used.")
        path = Path(self.port.removeprefix("replay://"))
        try:
            with path.open("rb") as file:
                data = file.read(_MOST_BYTES + 1)
            if len(data) > _MOST_BYTES:
                raise ValueError("it has no end")
            entries = [json.loads(line) for line in data.decode("ascii").splitlines()]
            self._entries = [(entry["from"] == "bench", entry["said"].encode("latin-1")) for entry in entries]
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
            raise SerialException(f"{path} is no conversation log: {problem}") from None
        self._owed_lines = 0
        self._ready = bytearray()
        self.is_open = True
        self._release()

    def close(self) -> None:
        """End."""
        self.is_open = False

    @property
    def in_waiting(self) -> int:
        """Bytes that can be read at once."""
        return len(self._ready)

    def read(self, size: int = 1) -> bytes:
        """Read up to ``size`` bytes; an empty line waits no longer than the time-out."""
        if not self.is_open:
            raise PortNotOpenError()
        if not self._ready:
            time.sleep(min(self.timeout or 0.0, 0.02))
        data = bytes(self._ready[:size])
        del self._ready[:size]
        return data

    def write(self, data: Any, /) -> int:
        """Take the bench's lines and let the board's next words out."""
        if not self.is_open:
            raise PortNotOpenError()
        self._owed_lines += bytes(data).count(b"\n")
        self._release()
        return len(data)

    def _release(self) -> None:
        while self._entries:
            ours, said = self._entries[0]
            if ours:
                if self._owed_lines < said.count(b"\n"):
                    return
                self._owed_lines -= said.count(b"\n")
            else:
                self._ready += said
            del self._entries[0]

    def _reconfigure_port(self) -> None:
        """Any rate will do."""

    def _update_rts_state(self) -> None:
        """No such line."""

    def _update_dtr_state(self) -> None:
        """No such line."""
