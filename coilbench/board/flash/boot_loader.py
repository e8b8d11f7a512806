"""Whether a boot loader answers on a port at a speed: told in two seconds, where avrdude takes most of a minute.

Atmel: AVR061, STK500 communication protocol (``arduino``); AVR068, STK500 version 2 (``wiring``). Reads only.
"""

from __future__ import annotations

import time
from typing import Any

from coilbench.board.link.faults import port_fault
from coilbench.board.link.link import OpenPort, open_port

# What is said, and what an answer begins with.
_HELLOS = {
    "arduino": (b"0 ", b"\x14\x10"),  # get in sync, end of packet; in sync, all right
    "wiring": (b"\x1b\x01\x00\x01\x0e\x01\x14", b"\x1b\x01"),  # sign on, in its frame
}
_PULSE_S, _WAKE_S = 0.1, 0.05
_EACH_S, _ATTEMPTS = 0.2, 8  # a boot loader waits a second or two for the first word


def answers(port: str, programmer: str, speed: int, opener: OpenPort = open_port) -> bool:
    """Reset the board by its port's control lines and ask for its boot loader. Raises LinkFault."""
    hello, expected = _HELLOS[programmer]
    line = opener(port)
    try:
        line.baudrate = speed
        _reset(line)
        line.timeout = _EACH_S
        heard = b""
        for _ in range(_ATTEMPTS):
            line.write(hello)
            heard += bytes(line.read(len(expected)))
            if heard:
                heard += bytes(line.read(line.in_waiting))
            if expected in heard:
                return True
        return False
    except (OSError, ValueError, TypeError) as problem:
        raise port_fault(port, problem) from problem
    finally:
        line.close()


def _reset(line: Any) -> None:
    """By DTR and RTS, as boards expect it; a port that has none resets its board when it is opened, or by hand."""
    for level in (False, True):
        try:
            line.dtr = line.rts = level
        except OSError:
            return
        time.sleep(_WAKE_S if level else _PULSE_S)
    line.reset_input_buffer()
