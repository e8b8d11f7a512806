"""The virtual motor of coilbench.board on the pins of the simulated chip, its sensor on the index input."""

from __future__ import annotations

from bisect import bisect_right
from typing import Any

from coilbench.board.virtual.running_motor import RunningMotor


class PinMotor:
    """Follows STEP, DIR and ENABLE of ``port.chip`` as time passes on ``port``.

    The sensor's level reaches the pin at the end of the 100 us in which it changed.
    """

    def __init__(self, port: Any, motor: RunningMotor) -> None:
        self.chip, self.motor = port.chip, motor
        self.pulses = 0  # counted with their direction
        self._forward = bool(self.chip.is_driven_high(self.chip.pins["dir"]))
        motor.time_s = port.monotonic()
        self.chip.drive(self.chip.pins["index"], motor.level)
        self.chip.forget_edges()
        port.after_quantum = self._follow

    def _follow(self) -> None:
        times, counts = [0.0], [self.pulses]
        names = {self.chip.watched[self.chip.pins[name]]: name for name in ("step", "dir")}
        for edge in self.chip.edges():
            name = names.get(int(edge["watch"]))
            if name == "dir":
                self._forward = bool(edge["level"])
            elif name == "step" and edge["level"]:
                self.pulses += 1 if self._forward else -1
                times.append(int(edge["cycle"]) / 16e6)
                counts.append(self.pulses)
        self.chip.forget_edges()
        enabled = self.chip.is_driven_high(self.chip.pins["enable"]) is False
        edges = self.motor.run(
            self.chip.seconds, lambda time_s: counts[bisect_right(times, time_s) - 1], powered=enabled
        )
        if edges:
            self.chip.drive(self.chip.pins["index"], edges[-1].level)
