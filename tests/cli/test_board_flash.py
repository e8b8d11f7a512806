"""The sketch on to a board by one command: with avrdude itself, and with one that fails."""

from __future__ import annotations

import json
import os
import re
import shutil
import tomllib
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from coilbench.board.flash.avrdude import Avrdude, NotFlashed, how_to_install
from coilbench.board.flash.boards import board_with, boards, image_for, usual_boards
from coilbench.board.flash.flashing import Flashing
from coilbench.board.link.faults import PortMissing
from coilbench.cli import main
from tests.support.boot_loader import board_on_port

Lines = Callable[..., str]

# What avrdude 6.3, 7.1 and 8.0 say of a signature; the first and the last from memory.
HEARD = {
    "6": "avrdude: Device signature = 0x1e950f (probably m328p)",
    "7": "avrdude: device signature = 0x1e950f (probably m328p)",
    "8": "Device signature = 1E 95 0F (ATmega328P, ATA6614Q, LGT8F328P)",
}
SILENT = "echo 'avrdude: stk500_getsync() attempt 10 of 10: not in sync: resp=0x00'; exit 1"


def usb(port: str, numbers: str) -> list[Any]:
    vendor, product = (int(each, 16) for each in numbers.split(":"))
    return [SimpleNamespace(device=port, vid=vendor, pid=product)]


@pytest.fixture
def real_avrdude() -> None:
    if shutil.which("avrdude") is None:
        said = "not installed: avrdude; apt-get install avrdude"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(said)


@pytest.fixture
def fake(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[str, str], Path]]:
    """An avrdude on the path that does as it is told, when it looks and when it writes; its log of arguments."""

    def make(look: str, write: str = "exit 1") -> Path:
        log = tmp_path / "log"
        script = tmp_path / "bin" / "avrdude"
        script.parent.mkdir(exist_ok=True)
        body = f'#!/bin/sh\necho "$@" >> {log}\ncase "$*" in *flash:w:*) {write};; *) {look};; esac\n'
        script.write_text(body)
        script.chmod(0o755)
        monkeypatch.setenv("PATH", f"{script.parent}:/usr/bin:/bin")
        return log

    yield make


def port_file(tmp_path: Path) -> str:
    return str(tmp_path / "no-port")


@pytest.mark.usefixtures("real_avrdude")
def test_the_sketch_gets_on_to_a_board(capsys: pytest.CaptureFixture[str]) -> None:
    with board_on_port() as board:
        assert main(["board", "flash", "--port", board.port, "--chip", "ATmega328P", "--yes", "--json"]) == 0
        out, err = capsys.readouterr()
        said = json.loads(out)
        assert board.holds == program(image_for(boards()[0]).path)
        assert main(["board", "flash", "--port", board.port, "--chip", "ATmega328P"]) == 2  # nobody to say yes
    assert said["before"] == "another sketch, or none" and said["verified"] is True
    assert said["chip"] == "ATmega328P" and said["speed"] == 115200 and "driver" in said["can"]
    assert len(re.findall("caution: motor supply off", err)) == 1 and "it will be overwritten" in err


def program(path: Path) -> bytes:
    """The bytes of an Intel hex file whose records follow one another; Intel: Hexadecimal Object File Format."""
    records = [bytes.fromhex(line[1:]) for line in path.read_text("ascii").split()]
    assert all(sum(record) % 256 == 0 for record in records)
    return b"".join(record[4:-1] for record in records if record[3] == 0).rstrip(b"\xff")


@pytest.mark.usefixtures("real_avrdude")
def test_what_reads_back_otherwise_is_said() -> None:
    with board_on_port(bad_at=1000) as board:
        flashing = Flashing(board.port, "atmega328p", list_ports=list, greet=nobody)
        plan = flashing.look()
        with pytest.raises(NotFlashed, match="reads back otherwise"):
            flashing.write(plan)


def nobody(port: str) -> Any:
    from coilbench.board.link.faults import no_answer

    raise no_answer(port)


@pytest.mark.usefixtures("real_avrdude")
@pytest.mark.parametrize(
    ("chip", "speed", "signature"),
    [("ATmega2560", 115200, b"\x1e\x98\x01"), ("ATmega1280", 57600, b"\x1e\x97\x03")],
)
def test_a_large_board_is_found_behind_a_bridge(chip: str, speed: int, signature: bytes) -> None:
    """By its boot loader, after those of the small ones; its elder, which has one of theirs, by its signature."""
    sketch = image_for(board_with(chip)).sketch
    with board_on_port(speed, signature, large=chip == "ATmega2560") as board:
        flashing = Flashing(board.port, list_ports=lambda: usb(board.port, "0403:6001"), greet=answering(sketch))
        plan = flashing.look()
        assert plan.board.chip == chip and plan.speed == speed and chip.lower() in plan.image.path.name
        flashing.write(plan)
        assert board.holds == program(plan.image.path)


def answering(sketch: int) -> Any:
    return lambda port: SimpleNamespace(sketch=sketch)


@pytest.mark.parametrize("words", HEARD.values(), ids=HEARD)
def test_an_older_boot_loader_is_found_at_its_speed(words: str, fake: Callable[..., Path]) -> None:
    log = fake(f"echo '{words}'", "echo '25270 bytes of flash verified'")
    sketch = image_for(boards()[0]).sketch
    with board_on_port(57600) as board:
        seen = usb(board.port, "1A86:7523")
        told: list[str] = []
        flashing = Flashing(board.port, tell=told.append, list_ports=lambda: seen, greet=answering(sketch))
        plan = flashing.look()
        assert plan.speed == 57600 and plan.board.chip == "ATmega328P"
        assert "the same as comes" in plan.now
        assert flashing.write(plan).sketch == sketch
    assert all("-c arduino" in line and "-b 57600" in line for line in log.read_text().splitlines())
    assert next(each for each in told if "boot loader" in each).endswith("at 115200 baud")


def test_a_board_that_cant_be_named_is_refused(fake: Callable[..., Path], tmp_path: Path) -> None:
    log = fake("echo 'avrdude: device signature = 0x1e9406 (probably m168)'")
    with board_on_port() as board:
        for seen, chip, why in (
            ([], "", "no USB port"),
            (usb(board.port, "2341:8036"), "", "USB 2341:8036 is no board"),
            (usb(board.port, "2341:0042"), "ATmega328P", "large board with an ATmega2560"),
        ):
            with pytest.raises(NotFlashed, match=why):
                Flashing(board.port, chip, list_ports=lambda seen=seen: seen, greet=nobody).look()
        assert not log.exists(), "a board of an unknown kind isn't even asked"
        with pytest.raises(NotFlashed, match="signature 1E9406: the sketch is for none such"):
            Flashing(board.port, list_ports=lambda: usb(board.port, "2341:0043"), greet=nobody).look()
        fake(f"echo '{HEARD['7']}'")
        with pytest.raises(NotFlashed, match="not an ATmega2560"):
            Flashing(board.port, "ATmega2560", list_ports=list, greet=nobody, probe=lambda *of: True).look()
        fake(SILENT)
        with pytest.raises(NotFlashed, match="no boot loader answers"):
            Flashing(board.port, "ATmega328P", list_ports=list, greet=nobody).look()
    with board_on_port(300) as board, pytest.raises(NotFlashed, match="no boot loader answers"):
        Flashing(board.port, "ATmega2560", list_ports=list, greet=nobody).look()
    with pytest.raises(PortMissing):
        Flashing(port_file(tmp_path), "ATmega2560", list_ports=list, greet=nobody).look()


@pytest.mark.parametrize(
    ("write", "why"),
    [
        ("echo 'verification error, first mismatch at byte 0x0010'; exit 1", "reads back otherwise"),
        ("echo 'stk500_recv(): programmer is not responding'; exit 1", "fell silent"),
        ("exit 0", "did not say that it verified"),
        ("printf '\\377\\376\\033[2J odd'; exit 7", "failed.*odd"),
        ("kill -9 $$", "failed"),
        ("exec sleep 60", "fell silent"),
    ],
)
def test_an_avrdude_that_misbehaves(write: str, why: str, fake: Callable[..., Path]) -> None:
    fake(f"echo '{HEARD['7']}'", write)
    with board_on_port() as board:
        avrdude = Avrdude(most_s=(5.0, 0.3))
        flashing = Flashing(board.port, "ATmega328P", list_ports=list, greet=nobody, avrdude=avrdude)
        with pytest.raises(NotFlashed, match=why) as caught:
            flashing.write(flashing.look())
    assert "\033" not in str(caught.value)


def test_without_avrdude_its_install_is_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, refusal: Lines
) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert "install avrdude" in refusal("board", "flash", "--port", "/dev/ttyS9", "--yes", status=4)
    assert [how_to_install(each).split(": ")[1].split()[0] for each in ("darwin", "win32", "linux")] == [
        "brew", "winget", "sudo",
    ]  # fmt: skip


def test_ports_that_are_none(refusal: Lines) -> None:
    assert "no port of this computer" in refusal("board", "flash", "--port", "virtual://bench", "--yes")
    assert "no chip the sketch is for" in refusal("board", "flash", "--port", "/dev/x", "--chip", "6502", "--yes")


def test_signatures_are_avrdudes_own() -> None:
    """AVRDUDE: avrdude.conf, the parts' ids and signatures."""
    conf = Path("/etc/avrdude.conf")
    if not conf.exists():
        (pytest.fail if os.environ.get("CI") else pytest.skip)("not installed: avrdude; apt-get install avrdude")
    told: dict[str, str] = {}
    part = ""
    for line in conf.read_text(encoding="utf-8").splitlines():
        if found := re.match(r'\s+id\s+= "(\w+)"', line):
            part = found[1]
        elif found := re.match(r"\s+signature\s+= 0x(\w\w) 0x(\w\w) 0x(\w\w);", line):
            told[part] = "".join(found.groups()).upper()
    for each in boards():
        assert told[each.part] == each.signature, each
    assert {each.chip for each in usual_boards()} == {"ATmega328P", "ATmega2560"}


def test_sources_are_written_out(tmp_path: Path, answer: Any, refusal: Lines) -> None:
    said = answer("board", "sketch", str(tmp_path / "mine"))
    assert {"PROTOCOL.md", "bench_helper/bench_helper.ino", "bench_helper/README.md"} <= set(said["files"])
    ours = Path(__file__).parents[2] / "sketches"
    for name in said["files"]:
        assert (tmp_path / "mine" / name).read_bytes() == (ours / name).read_bytes()
    assert "not empty" in refusal("board", "sketch", str(tmp_path / "mine"))


def test_the_wheel_holds_them_and_the_images() -> None:
    """A wheel holds of a package's folders what the patterns in pyproject name."""
    root = Path(__file__).parents[2]
    patterns = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    held = {Path(each).suffix for each in patterns["package-data"]["coilbench"]}
    flash = root / "coilbench" / "board" / "flash"
    needed = [*(root / "sketches").rglob("*.*"), *(flash / "images").iterdir(), *flash.glob("*.csv")]
    assert {each.suffix for each in needed if each.is_file()} <= held
    assert (flash / "sketches").resolve() == root / "sketches", "the package's link to the sketch"
