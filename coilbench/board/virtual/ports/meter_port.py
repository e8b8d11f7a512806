"""``virtual://meter?...``: a port with a virtual bench meter on it, its probes at a motor of the demo.

``motor=`` is the motor's name (M-02). May follow: ``faults=`` (of ``instrument.FAULTS``, separated by commas),
``unplug=`` (after so many readings of the port the cable is out), ``seed=``, and ``clock=free``: its time then passes
in ``read`` alone, and ``monotonic`` tells it.
"""

from __future__ import annotations

import time
from typing import Any
from urllib.parse import parse_qs, urlsplit

from serial import PortNotOpenError, SerialBase, SerialException

from coilbench.board.virtual.demo_motors import DEMO_MOTORS
from coilbench.board.virtual.instrument import FAULTS, Probes, VirtualInstrument

NAME = "meter"
_PAUSE_S = 0.005


class Serial(SerialBase):
    """A pyserial port; ``put_probes`` is the hand."""

    _instrument: VirtualInstrument | None = None

    def open(self) -> None:
        """Plug the meter in."""
        if self.is_open or self.port is None:
            raise SerialException("Port must be configured, and closed, before it can be opened.")
        options = {name: values[-1] for name, values in parse_qs(urlsplit(self.port).query).items()}
        try:
            name = options.get("motor", DEMO_MOTORS[0].name)
            motor = next((each for each in DEMO_MOTORS if each.name == name), None)
            faults = frozenset(filter(None, options.get("faults", "").split(",")))
            if motor is None or not faults <= set(FAULTS):
                raise ValueError(f"motor must be one of the demo's, faults of {', '.join(FAULTS)}")
            self._instrument = VirtualInstrument(Probes(motor), faults, int(options.get("seed", "1")))
            self._left = int(options["unplug"]) if "unplug" in options else None
        except ValueError as problem:
            raise SerialException(f"could not open port {self.port}: {problem}") from None
        self._free = options.get("clock") == "free"
        self._now_s = 0.0
        self._heard = b""
        self._received = bytearray()
        self.is_open = True

    def close(self) -> None:
        """Unplug it."""
        self.is_open = False

    def monotonic(self) -> float:
        """The meter's time, seconds."""
        return self._now_s if self._free else time.monotonic()

    def put_probes(self, a: str, b: str) -> None:
        """Take the probes to these two leads, the frame, or each other. Raises ValueError for no such lead."""
        self._plugged.probes.put(a, b, self.monotonic())

    @property
    def _plugged(self) -> VirtualInstrument:
        if not self.is_open or self._instrument is None:
            raise PortNotOpenError()
        return self._instrument

    @property
    def in_waiting(self) -> int:
        """Bytes that can be read at once."""
        self._received += self._plugged.said(self.monotonic())
        return len(self._received)

    def read(self, size: int = 1) -> bytes:
        """Up to ``size`` bytes, waiting for the first of them no longer than the time-out."""
        if self._left is not None:
            self._left -= 1
            if self._left < 0:
                raise SerialException("device disconnected")
        until_s = self.monotonic() + (self.timeout or 0.0)
        while not self.in_waiting and self.monotonic() < until_s:
            if self._free:
                self._now_s = min(self._now_s + _PAUSE_S, until_s)
            else:
                time.sleep(_PAUSE_S)
        data = bytes(self._received[:size])
        del self._received[:size]
        return data

    def write(self, data: Any, /) -> int:
        """Give the meter bytes; it acts at each line's end."""
        *lines, self._heard = (self._heard + bytes(data)).split(b"\n")
        for line in lines:
            self._plugged.hear(line.decode("ascii", "replace"), self.monotonic())
        return len(data)

    def _reconfigure_port(self) -> None:
        """Any rate will do."""

    def _update_rts_state(self) -> None:
        """No such line."""

    def _update_dtr_state(self) -> None:
        """No such line."""
