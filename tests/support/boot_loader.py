"""A board on a pseudo-terminal, for avrdude itself: a boot loader that speaks STK500, then the sketch.

The boot loaders' words are those of Atmel: AVR061, STK500 communication protocol, and AVR068, STK500 version 2. Once
the image has been written and the port is opened anew, a virtual board answers as the sketch.
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
from functools import reduce

import serial

import coilbench.board.link.link  # noqa: F401  # lets pyserial know virtual ports

_IN_SYNC, _OK = b"\x14", b"\x10"
# How many bytes follow each command of version 1, its end included; 'd' has its data on top.
_FOLLOW = {"0": 1, "1": 1, "A": 2, "B": 21, "E": 6, "P": 1, "Q": 1, "u": 1, "U": 3, "V": 5, "d": 3, "t": 4}


class BootLoader:
    """``flash`` is its program memory; ``bad_at`` a place in it that reads back otherwise."""

    hello = b""  # what the first word to it begins with

    def __init__(self, size: int, signature: bytes, bad_at: int | None) -> None:
        self.flash = bytearray(b"\xff" * size)
        self.signature, self.bad_at = signature, bad_at
        self.address = 0
        self.heard = b""

    def answers(self, data: bytes) -> bytes:
        """What it says to these bytes."""
        self.heard += data
        said = b""
        while (command := self.whole()) is not None:
            said += self.answer(command)
        return said

    def write(self, data: bytes) -> None:
        self.flash[self.address : self.address + len(data)] = data

    def read(self, count: int) -> bytes:
        read = self.flash[self.address : self.address + count]
        if self.bad_at is not None and 0 <= self.bad_at - self.address < count:
            read[self.bad_at - self.address] ^= 0xFF
        return bytes(read)

    def whole(self) -> bytes | None:
        """The next whole command, taken off what was heard."""
        raise NotImplementedError

    def answer(self, command: bytes) -> bytes:
        raise NotImplementedError


class VersionOne(BootLoader):
    """That of the small boards."""

    hello = b"0 "

    def whole(self) -> bytes | None:
        while self.heard and chr(self.heard[0]) not in _FOLLOW:
            self.heard = self.heard[1:]
        if not self.heard:
            return None
        size = 1 + _FOLLOW[chr(self.heard[0])]
        if self.heard[:1] == b"d" and len(self.heard) >= 3:
            size += 1 + int.from_bytes(self.heard[1:3], "big")
        if len(self.heard) < size:
            return None
        command, self.heard = self.heard[:size], self.heard[size:]
        return command

    def answer(self, command: bytes) -> bytes:
        word, rest, said = chr(command[0]), command[1:], b""
        if word == "A":
            said = b"\x04"
        elif word == "V":
            said = b"\x00"
        elif word == "u":
            said = self.signature
        elif word == "U":
            self.address = 2 * int.from_bytes(rest[:2], "little")
        elif word == "d":
            self.write(rest[3 : 3 + int.from_bytes(rest[:2], "big")])
        elif word == "t":
            said = self.read(int.from_bytes(rest[:2], "big"))
        return _IN_SYNC + said + _OK


class VersionTwo(BootLoader):
    """That of the large boards: framed messages, a word address of four bytes."""

    hello = b"\x1b"

    def whole(self) -> bytes | None:
        while self.heard and self.heard[:1] != b"\x1b":
            self.heard = self.heard[1:]
        if len(self.heard) < 5:
            return None
        size = 6 + int.from_bytes(self.heard[2:4], "big")
        if len(self.heard) < size:
            return None
        command, self.heard = self.heard[:size], self.heard[size:]
        return command

    def answer(self, command: bytes) -> bytes:
        number, body = command[1], command[5:-1]
        said = bytes((body[0], 0)) + self._more(body)
        message = bytes((0x1B, number)) + len(said).to_bytes(2, "big") + b"\x0e" + said
        return message + bytes((reduce(lambda a, b: a ^ b, message),))

    def _more(self, body: bytes) -> bytes:
        word, said = body[0], b""
        if word == 0x01:
            said = b"\x08STK500_2"
        elif word == 0x03:
            said = b"\x02"
        elif word == 0x06:
            self.address = 2 * (int.from_bytes(body[1:5], "big") & 0x7FFFFFFF)
        elif word == 0x13:
            self.write(body[10:])
            self.address += int.from_bytes(body[1:3], "big")
        elif word == 0x14:
            count = int.from_bytes(body[1:3], "big")
            said = self.read(count) + b"\x00"
            self.address += count
        elif word == 0x1B:  # a byte of the signature, by the chip's own command
            said = self.signature[body[4] : body[4] + 1] + b"\x00"
        return said


class BoardOnPort:
    """``loader`` listens at ``speed`` baud on ``port``."""

    def __init__(self, loader: BootLoader, speed: int) -> None:
        self._loader, self._speed = loader, speed
        self._master, far_end = os.openpty()
        tty.setraw(far_end)
        self.port = os.ttyname(far_end)
        self._far_end = far_end
        fcntl.ioctl(self._master, termios.TIOCPKT, struct.pack("i", 1))  # tells when the port is opened: a flush
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
        return bytes(self._loader.flash).rstrip(b"\xff")

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
        self._loader.heard = b""
        self._sketch = serial.serial_for_url("virtual://bench") if self.holds else None

    def _heard(self, data: bytes) -> None:
        at_speed = termios.tcgetattr(self._far_end)[5] == getattr(termios, f"B{self._speed}")
        if at_speed and data.startswith(self._loader.hello) and data != b"\x1b\n":  # the sketch's stop byte is none
            self._sketch = None
        if self._sketch is not None:
            self._sketch.write(data)
        elif at_speed and (said := self._loader.answers(data)):
            os.write(self._master, said)


@contextmanager
def board_on_port(
    speed: int = 115200, signature: bytes = b"\x1e\x95\x0f", bad_at: int | None = None, *, large: bool = False
) -> Iterator[BoardOnPort]:
    """A board whose boot loader listens at ``speed`` baud: a small board's, or a ``large`` one's."""
    loader = VersionTwo(1 << 18, signature, bad_at) if large else VersionOne(1 << 15, signature, bad_at)
    board = BoardOnPort(loader, speed)
    try:
        yield board
    finally:
        board.close()
