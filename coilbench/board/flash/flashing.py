"""The sketch on to a board, step by step: name the board, tell what goes, write, read back, greet."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from coilbench.board.client.client import Helper
from coilbench.board.client.orders import Identity
from coilbench.board.flash.avrdude import Avrdude, NotFlashed
from coilbench.board.flash.boards import (
    Board,
    Image,
    board_with,
    image_for,
    numbers_of,
    on_usb,
    signed,
    usual_boards,
)
from coilbench.board.flash.boot_loader import answers
from coilbench.board.link.faults import LinkFault, NoAnswer, WrongDevice
from coilbench.board.link.replug import ListPorts, system_ports
from coilbench.errors import InputProblem

CAUTION = "motor supply off, and its capacitors empty: the board's lines float while it is written"
_RESET = "press its reset button just after this begins; check the cable and that no other program has the port"

Tell = Callable[[str], None]
Greet = Callable[[str], Identity]
Probe = Callable[[str, str, int], bool]  # port, programmer, speed: whether a boot loader answers


def greeted(port: str) -> Identity:
    """Who the helper sketch on ``port`` says it is. Raises LinkFault."""
    with Helper.open(port) as helper:
        return helper.identity


@dataclass(frozen=True)
class Plan:
    """What would be done: the board on ``port``, how it was told, what is on it now, what comes in its place."""

    port: str
    board: Board
    speed: int
    told_by: str
    now: str
    image: Image

    @property
    def lines(self) -> tuple[str, ...]:
        """It in words, for the person to say yes or no to."""
        return (
            f"{self.port}: a board with an {self.board.chip}, told by {self.told_by}",
            f"on it now: {self.now}; it will be overwritten",
            f"to write: helper sketch {version(self.image.sketch)}, {self.image.size_bytes:,} bytes, "
            f"by its boot loader at {self.speed} baud; the EEPROM stays as it is",
        )

    def as_json(self) -> dict[str, Any]:
        """It for programs."""
        return {
            "port": self.port,
            "chip": self.board.chip,
            "told_by": self.told_by,
            "before": self.now,
            "sketch": version(self.image.sketch),
            "bytes": self.image.size_bytes,
            "speed": self.speed,
        }


def version(sketch: int) -> str:
    """A sketch's version as it is read."""
    return f"{sketch // 10000}.{sketch // 100 % 100}.{sketch % 100}"


class Flashing:
    """The work at one port. ``chip`` is what the person says it has; ``tell`` is told what is under way."""

    def __init__(
        self,
        port: str,
        chip: str = "",
        *,
        tell: Tell = lambda text: None,
        list_ports: ListPorts = system_ports,
        greet: Greet = greeted,
        probe: Probe = answers,
        avrdude: Avrdude | None = None,
    ) -> None:
        self._port, self._tell, self._list_ports = port, tell, list_ports
        self._greet, self._probe = greet, probe
        self._chosen = board_with(chip) if chip else None
        if not port.strip():
            raise InputProblem("no port is named; expected such as /dev/ttyACM0 or COM3")
        if "://" in port:
            raise InputProblem(
                f"{port} is no port of this computer",
                remedy="a board is written on a serial port, such as /dev/ttyACM0",
            )
        self._avrdude = avrdude or Avrdude()

    def look(self) -> Plan:
        """Name the board and see what is on it; nothing is written. Raises NotFlashed, LinkFault."""
        candidates, usb = self._candidates()
        board, speed, signature = self._named(candidates)
        if self._chosen is not None and board.image != self._chosen.image:
            raise NotFlashed(
                f"the board on {self._port} has an {board.chip} by its signature {signature}, "
                f"not an {self._chosen.chip}",
                title="Another chip",
                remedy="leave --chip out, or name the right one",
            )
        told_by = f"{usb} and its signature {signature}" if usb else f"its signature {signature}"
        image = image_for(board)
        self._tell("seeing what is on it")
        return Plan(self._port, board, speed, told_by, self._on_it_now(image), image)

    def _candidates(self) -> tuple[tuple[Board, ...], str]:
        """The boards it may be, and what the USB numbers say. Raises NotFlashed where nothing tells."""
        ports = list(self._list_ports())
        found, numbers = on_usb(self._port, ports), numbers_of(self._port, ports)
        if found is not None and found.chip:
            board = board_with(found.chip)
            if self._chosen is not None and self._chosen.image != board.image:
                raise NotFlashed(
                    f"the board on {self._port} is {found.words} with an {found.chip} by its USB numbers {numbers}, "
                    f"not one with an {self._chosen.chip}",
                    title="Another board",
                )
            return (board,), f"USB {numbers}"
        if self._chosen is not None:
            return (self._chosen,), ""
        if found is None:
            known = f"USB {numbers} is no board that the sketch is for" if numbers else "it is no USB port"
            raise NotFlashed(
                f"what is on {self._port} can't be named: {known}",
                title="Not named",
                remedy="if you know its chip, say so: --chip ATmega328P, ATmega2560 or ATmega1280; it is checked",
            )
        return usual_boards(), ""

    def _named(self, candidates: tuple[Board, ...]) -> tuple[Board, int, str]:
        for each in candidates:
            for speed in each.speeds:
                self._tell(f"asking for a boot loader of the {each.chip} at {speed} baud")
                if not self._probe(self._port, each.programmer, speed):
                    continue
                signature = self._avrdude.signature(each, self._port, speed)
                if not signature:
                    continue
                board = signed(signature)
                if board is None:
                    raise NotFlashed(
                        f"the chip on {self._port} has the signature {signature}: the sketch is for none such",
                        title="Another chip",
                    )
                return board, speed, signature
        raise NotFlashed(f"no boot loader answers on {self._port}", title="No boot loader", remedy=_RESET)

    def _on_it_now(self, image: Image) -> str:
        try:
            there = self._greet(self._port)
        except (WrongDevice, NoAnswer):
            return "another sketch, or none"
        same = ", the same as comes" if there.sketch == image.sketch else ""
        return f"helper sketch {version(there.sketch)}{same}"

    def write(self, plan: Plan) -> Identity:
        """Write, read back, greet; who then answers. Raises NotFlashed, LinkFault."""
        self._tell(f"writing {plan.image.size_bytes:,} bytes and reading them back; leave the cable in")
        self._avrdude.write(plan.board, plan.port, plan.speed, plan.image)
        self._tell("greeting the sketch")
        try:
            there = self._greet(plan.port)
        except LinkFault as problem:
            raise NotFlashed(
                f"written and verified, but the sketch doesn't answer on {plan.port}: {problem.happened}",
                title="No answer",
                remedy="unplug the board, plug it in, then ask it with `coilbench board --port PORT`",
            ) from problem
        if there.sketch != plan.image.sketch:
            raise NotFlashed(
                f"written and verified, but sketch {version(there.sketch)} answers on {plan.port}, "
                f"not {version(plan.image.sketch)}",
                title="Another sketch",
                remedy="unplug the board, plug it in, then write it once more",
            )
        return there
