"""A board on a pseudo-terminal, for avrdude itself: a boot loader that speaks STK500 version 1, then the sketch.

The boot loader's words are those of Atmel: AVR061, STK500 communication protocol. Once the image has been written and
the port is opened anew, a virtual board answers as the sketch.
"""

from __future__ import annotations

import fcntl
import os
import select
import struct
import termios
import threading
import tty
from collections.abc import Iterator
from contextlib import contextmanager

import serial

import coilbench.board.link.link  # noqa: F401  # lets pyserial know virtual ports

_IN_SYNC, _OK = b"\x14", b"\x10"
# How many bytes follow each command, its end included; 'd' has its data on top.
_FOLLOW = {"0": 1, "1": 1, "A": 2, "B": 21, "E": 6, "P": 1, "Q": 1, "u": 1, "U": 3, "V": 5, "d": 3, "t": 4}


class BoardOnPort:
    """``flash`` is its program memory; ``bad_at`` a place in it that reads back otherwise."""

    def __init__(self, speed: int, signature: bytes, bad_at: int | None = None) -> None:
        self.flash = bytearray(b"\xff" * 32768)
        self._speed, self._signature, self._bad_at = speed, signature, bad_at
        self._master, far_end = os.openpty()
        tty.setraw(far_end)
        self.port = os.ttyname(far_end)
        self._far_end = far_end
        fcntl.ioctl(self._master, termios.TIOCPKT, struct.pack("i", 1))  # tells when the port is opened: a flush
        self._address = 0
        self._bytes = b""
        self._sketch: serial.SerialBase | None = None
        self._ended = threading.Event()
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Unplug it."""
        self._ended.set()
        self._thread.join()
        os.close(self._master)
        os.close(self._far_end)

    @property
    def holds(self) -> bytes:
        """What was written."""
        return bytes(self.flash).rstrip(b"\xff")

    def _serve(self) -> None:
        while not self._ended.is_set():
            if select.select([self._master], [], [], 0.01)[0]:
                packet = os.read(self._master, 4096)
                if packet[0] & termios.TIOCPKT_FLUSHREAD:
                    self._reset()
                elif packet[0] == termios.TIOCPKT_DATA:
                    self._heard(packet[1:])
            if self._sketch is not None and (waiting := self._sketch.in_waiting):
                os.write(self._master, self._sketch.read(waiting))

    def _reset(self) -> None:
        self._bytes = b""
        self._sketch = serial.serial_for_url("virtual://bench") if self.holds else None

    def _heard(self, data: bytes) -> None:
        if data.startswith(b"0 "):
            self._sketch = None
        if self._sketch is not None:
            self._sketch.write(data)
            return
        if termios.tcgetattr(self._far_end)[5] != getattr(termios, f"B{self._speed}"):
            return
        self._bytes += data
        while (command := self._whole()) is not None:
            os.write(self._master, _IN_SYNC + self._answer(command) + _OK)

    def _whole(self) -> bytes | None:
        while self._bytes and chr(self._bytes[0]) not in _FOLLOW:
            self._bytes = self._bytes[1:]
        if not self._bytes:
            return None
        size = 1 + _FOLLOW[chr(self._bytes[0])]
        if self._bytes[:1] == b"d" and len(self._bytes) >= 3:
            size += 1 + int.from_bytes(self._bytes[1:3], "big")
        if len(self._bytes) < size:
            return None
        command, self._bytes = self._bytes[:size], self._bytes[size:]
        return command

    def _answer(self, command: bytes) -> bytes:
        word, rest = chr(command[0]), command[1:]
        if word == "A":
            return b"\x04"
        if word == "V":
            return b"\x00"
        if word == "u":
            return self._signature
        if word == "U":
            self._address = 2 * int.from_bytes(rest[:2], "little")
        elif word == "d":
            count = int.from_bytes(rest[:2], "big")
            self.flash[self._address : self._address + count] = rest[3 : 3 + count]
            if self._bad_at is not None:
                self.flash[self._bad_at] = 0
        elif word == "t":
            return bytes(self.flash[self._address : self._address + int.from_bytes(rest[:2], "big")])
        return b""


@contextmanager
def board_on_port(
    speed: int = 115200, signature: bytes = b"\x1e\x95\x0f", bad_at: int | None = None
) -> Iterator[BoardOnPort]:
    """A board whose boot loader listens at ``speed`` baud."""
    board = BoardOnPort(speed, signature, bad_at)
    try:
        yield board
    finally:
        board.close()
