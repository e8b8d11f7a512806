"""A board that was unplugged and comes back, maybe under another name: told by what its USB side says of itself."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol, TypeVar

from coilbench.board.link.faults import LinkFault, PortMissing, WrongDevice, two_alike

Opened = TypeVar("Opened")

RETURN_WAIT_S = 60.0
_PAUSE_S = 0.5


class PortInfo(Protocol):
    """What is known of a serial port; pyserial's list has it so. ``location`` is the USB socket."""

    device: str
    vid: int | None
    pid: int | None
    product: str | None
    serial_number: str | None
    location: str | None


ListPorts = Callable[[], Iterable[PortInfo]]


def system_ports() -> Sequence[PortInfo]:
    """The serial ports there are now."""
    from serial.tools.list_ports import comports

    return list(comports())


@dataclass(frozen=True)
class PortMark:
    """What a board on USB is known by again.

    ``others`` are the sockets in which boards alike stood beside it.
    """

    device: str
    kind: tuple[int | None, int | None, str | None]
    serial_number: str | None
    location: str | None
    others: frozenset[str]

    def find(self, ports: Iterable[PortInfo]) -> str:
        """The name of the port that the board is on now.

        Its serial number decides. Where it has none, or shares it, the socket does; else a board alike counts as the
        same one come back when it is the only one that was not there before. Raises PortMissing, or LinkFault where
        several could be it.
        """
        alike = [port for port in ports if _kind(port) == self.kind and _serial(port) == self.serial_number]
        in_its_socket = [port for port in alike if self.location and port.location == self.location]
        if self.serial_number and len(alike) == 1:
            return alike[0].device
        if len(in_its_socket) == 1:
            return in_its_socket[0].device
        new = [port.device for port in alike if _socket(port) not in self.others]
        if len(new) > 1:
            raise two_alike(self.device, new)
        if not new:
            raise PortMissing(
                f"the board that was on {self.device} is not back", title="Board unplugged", remedy="plug it in again"
            )
        return new[0]


def mark_of(device: str, ports: Iterable[PortInfo]) -> PortMark | None:
    """What to know the board on ``device`` by again; None for what is not on USB or not listed."""
    listed = list(ports)
    real = os.path.realpath(device)  # systems give ports further names, which point to this one
    own = next((port for port in listed if port.device in (device, real)), None)
    if own is None or own.vid is None:
        return None
    others = frozenset(_socket(port) for port in listed if port is not own and _kind(port) == _kind(own))
    return PortMark(own.device, _kind(own), _serial(own), own.location, others)


def _kind(port: PortInfo) -> tuple[int | None, int | None, str | None]:
    return (port.vid, port.pid, port.product)


def _serial(port: PortInfo) -> str | None:
    return port.serial_number or None


def _socket(port: PortInfo) -> str:
    return port.location or port.device


def wait_for_return(
    open_again: Callable[[], Opened],
    wait_s: float = RETURN_WAIT_S,
    *,
    now: Callable[[], float] = time.monotonic,
    sleep: Callable[[float], None] = time.sleep,
) -> Opened:
    """Try ``open_again`` until it succeeds; raises its last LinkFault after ``wait_s`` seconds.

    A port that may not be used yet is tried again too: systems set the rights a moment after it appears. Another
    device on the port ends the wait.
    """
    until_s = now() + wait_s
    while True:
        try:
            return open_again()
        except WrongDevice:
            raise
        except LinkFault:
            if now() >= until_s:
                raise
        sleep(_PAUSE_S)
