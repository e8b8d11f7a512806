"""A simulated board on a pseudo-terminal: a serial port to any program, with the compiled sketch behind it.

    python tests/firmware/wire.py atmega328p

prints the port's name and keeps the board on it until interrupted; it resets each time the port is opened. Time
passes as fast as the wall's, or slower where the computer can't keep up.
"""

from __future__ import annotations

import fcntl
import os
import select
import struct
import sys
import termios
import time
import tty
from pathlib import Path
from typing import Any

CYCLES_PER_MS = 16_000
FURTHEST_BEHIND_S = 0.02  # what is lost beyond this is not made up for


class Wire:
    """A pseudo-terminal with ``chip`` on its far end; time passes in ``run_ms``."""

    def __init__(self, chip: Any) -> None:
        self.chip = chip
        self.master, far_end = os.openpty()
        tty.setraw(far_end)
        self.path = os.ttyname(far_end)
        os.close(far_end)  # so that it can be seen when somebody opens it
        # Packets tell of a flush, which is how a port is opened, even when it was closed but a moment before.
        fcntl.ioctl(self.master, termios.TIOCPKT, struct.pack("i", 1))
        os.set_blocking(self.master, False)
        self.poll = select.poll()
        self.poll.register(self.master, select.POLLIN)
        self.opened = False
        self._due_s = time.monotonic()

    def run_ms(self, ms: int) -> None:
        """Let virtual milliseconds pass."""
        for _ in range(ms):
            self._due_s = max(self._due_s + 0.001, time.monotonic() - FURTHEST_BEHIND_S)
            self._carry()
            self.chip.run(CYCLES_PER_MS)
            time.sleep(max(self._due_s - time.monotonic(), 0))

    def pull(self) -> None:
        """Pull the cable: the port is gone, the board runs on by itself."""
        self.poll.unregister(self.master)
        os.close(self.master)
        self.master = -1

    def _carry(self) -> None:
        if self.master < 0:
            self.chip.line_read()
            return
        while (events := dict(self.poll.poll(0)).get(self.master, 0)) & select.POLLIN:
            packet = os.read(self.master, 4096)
            if packet[0] & termios.TIOCPKT_FLUSHREAD:
                self.chip.reset()  # a board that resets as its port is opened
            elif packet[0] == termios.TIOCPKT_DATA:
                self.chip.line_write(packet[1:])
        self.opened = not events & select.POLLHUP
        data = self.chip.line_read()
        if data and self.opened:
            os.write(self.master, data)

    def close(self) -> None:
        """Take the port away."""
        if self.master >= 0:
            os.close(self.master)
        self.chip.close()


def main(chip: str) -> None:
    """Serve one board until interrupted."""
    sys.path.insert(0, str(Path(__file__).parents[2]))
    from tests.firmware import rig

    wire = Wire(rig.new_chip(chip))
    print(wire.path, flush=True)
    try:
        while True:
            wire.run_ms(1000)
            wire.chip.forget_edges()
    except KeyboardInterrupt:
        wire.close()


if __name__ == "__main__":
    main(sys.argv[1])
