"""The boards that the helper sketch is for, by signature and by USB numbers: boot loader and image of each."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path

from coilbench.board.link.replug import PortInfo
from coilbench.errors import Fault, InputProblem


@dataclass(frozen=True)
class Board:
    """A kind of board: ``part`` and ``programmer`` as avrdude calls them, ``speeds`` (baud) of its boot loaders."""

    chip: str
    signature: str
    part: str
    programmer: str
    speeds: tuple[int, ...]
    image: str


@dataclass(frozen=True)
class OnUsb:
    """What the USB numbers of a port say: ``chip`` is empty for a serial bridge, with any board behind it."""

    numbers: str
    chip: str
    words: str


@dataclass(frozen=True)
class Image:
    """A compiled sketch, as Intel hex: its version, bytes of program memory, and what compiled it."""

    path: Path
    sketch: int
    size_bytes: int
    compiler: str


def _rows(name: str) -> list[dict[str, str]]:
    text = (files("coilbench.board.flash") / name).read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def boards() -> tuple[Board, ...]:
    """Every kind of board, the commonest first."""
    return tuple(
        Board(
            row["chip"],
            row["signature"],
            row["part"],
            row["programmer"],
            tuple(int(speed) for speed in row["speeds"].split()),
            row["image"],
        )
        for row in _rows("boards.csv")
    )


def board_with(chip: str) -> Board:
    """The kind of board with this chip, however it is written. Raises InputProblem."""
    for each in boards():
        if each.chip.lower() == chip.strip().lower():
            return each
    raise InputProblem(f"{chip!r} is no chip the sketch is for, expected {', '.join(b.chip for b in boards())}")


def signed(signature: str) -> Board | None:
    """The kind of board whose chip has this signature, None where the sketch is for none such."""
    return next((each for each in boards() if each.signature == signature.upper()), None)


def usual_boards() -> tuple[Board, ...]:
    """One board of each kind of boot loader: enough to find any, whose signature then tells which it is."""
    return tuple({each.programmer: each for each in reversed(boards())}.values())[::-1]


def on_usb(port: str, ports: Iterable[PortInfo]) -> OnUsb | None:
    """What the USB numbers of ``port`` say; None where it has none, or unknown ones (``numbers_of`` has those)."""
    numbers = numbers_of(port, ports)
    for row in _rows("usb.csv"):
        if numbers and f"{row['vendor']}:{row['product']}" == numbers:
            return OnUsb(numbers, row["chip"], row["words"])
    return None


def numbers_of(port: str, ports: Iterable[PortInfo]) -> str:
    """Vendor and product of the USB device behind ``port``, by whatever name; empty where it is none."""
    names = {port, str(Path(port).resolve())}
    found = [each for each in ports if each.device in names and each.vid is not None and each.pid is not None]
    return f"{found[0].vid:04X}:{found[0].pid:04X}" if found else ""


def image_for(board: Board) -> Image:
    """The image for a board. Raises Fault for one that isn't what was built."""
    row = next(row for row in _rows("images/built.csv") if row["image"] == board.image)
    path = Path(str(files("coilbench.board.flash") / "images" / board.image))
    if not path.is_file() or hashlib.sha256(path.read_bytes()).hexdigest() != row["sha256"]:
        raise Fault(f"{path} is missing or damaged", remedy="install coilbench again")
    return Image(path, int(row["sketch"]), int(row["bytes"]), row["compiler"])
