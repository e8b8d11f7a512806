"""Compiles the helper sketch, the bench around the AVR simulator and the sketch's pure parts; caches by content."""

from __future__ import annotations

import fcntl
import hashlib
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SKETCH = ROOT / "sketches" / "bench_helper"
HARNESS = Path(__file__).with_name("harness")
CACHE = ROOT / "build" / "firmware"
ARDUINO = Path("/usr/share/arduino/hardware/arduino/avr")
SIMAVR = Path("/usr/include/simavr")
APT_PACKAGES = "gcc-avr avr-libc binutils-avr arduino-core-avr libsimavr-dev libelf-dev"


@dataclass(frozen=True)
class Chip:
    """One of the microcontrollers, as the Arduino core's boards.txt describes it."""

    name: str
    variant: str
    board: str
    flash_bytes: int  # without the boot loader
    ram_bytes: int


CHIPS = {
    "atmega328p": Chip("atmega328p", "standard", "ARDUINO_AVR_UNO", 32256, 2048),
    "atmega2560": Chip("atmega2560", "mega", "ARDUINO_AVR_MEGA2560", 253952, 8192),
    "atmega1280": Chip("atmega1280", "mega", "ARDUINO_AVR_MEGA", 126976, 8192),
}


def missing() -> list[str]:
    """What is not installed of the compilers, the Arduino core and the simulator."""
    tools = [tool for tool in ("avr-g++", "avr-gcc-ar", "avr-size", "gcc", "g++") if not shutil.which(tool)]
    files = (ARDUINO / "cores/arduino/Arduino.h", SIMAVR / "sim_avr.h", Path("/usr/include/libelf.h"))
    return tools + [str(file) for file in files if not file.exists()]


def _run(command: list[str]) -> str:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(f"{' '.join(command)}\n{done.stdout}{done.stderr}")
    return done.stdout


def _digest(files: list[Path], *extra: str) -> str:
    digest = hashlib.sha256("\0".join(extra).encode())
    for file in [*files, Path(__file__)]:
        digest.update(file.name.encode() + b"\0" + file.read_bytes())
    return digest.hexdigest()[:16]


def _built(name: str, build: Callable[[Path], Path]) -> Path:
    """``name`` in the cache; ``build`` makes it in a folder it is given, once however many processes want it."""
    target = CACHE / name
    if target.exists():
        return target
    CACHE.mkdir(parents=True, exist_ok=True)
    with (CACHE / f"{name}.lock").open("w") as lock, tempfile.TemporaryDirectory(dir=CACHE) as folder:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not target.exists():
            os.replace(build(Path(folder)), target)
    return target


def _flags(chip: Chip) -> list[str]:
    # From the core's platform.txt and boards.txt. DECIMAL_DIG: core 1.8.7 needs it, gcc 5.4 hides it from C++.
    return [
        *("-g", "-Os", "-ffunction-sections", "-fdata-sections", "-flto", f"-mmcu={chip.name}"),
        *("-DF_CPU=16000000L", "-DARDUINO=10819", f"-D{chip.board}", "-DARDUINO_ARCH_AVR"),
        *("-DDECIMAL_DIG=__DECIMAL_DIG__", f"-I{ARDUINO}/cores/arduino", f"-I{ARDUINO}/variants/{chip.variant}"),
    ]


_CPP = ["-std=gnu++11", "-fpermissive", "-fno-exceptions", "-fno-threadsafe-statics"]
_C = ["-std=gnu11", "-fno-fat-lto-objects"]
_LIBRARIES = ["-lsimavr", "-lelf"]
_STRICT = ["-Wall", "-Wextra", "-Werror"]


def _core(chip: Chip) -> Path:
    sources = sorted(file for file in (ARDUINO / "cores/arduino").iterdir() if file.suffix in (".c", ".cpp", ".S"))

    def build(folder: Path) -> Path:
        objects = []
        for source in sources:
            made = folder / f"{source.name}.o"
            if source.suffix == ".S":
                command = ["avr-gcc", "-c", "-x", "assembler-with-cpp", *_flags(chip)]
            elif source.suffix == ".c":
                command = ["avr-gcc", "-c", "-w", *_flags(chip), *_C]
            else:
                command = ["avr-g++", "-c", "-w", *_flags(chip), *_CPP]
            _run([*command, str(source), "-o", str(made)])
            objects.append(str(made))
        archive = folder / "core.a"
        _run(["avr-gcc-ar", "rcs", str(archive), *objects])
        return archive

    return _built(f"core-{chip.name}-{_digest(sources, *_flags(chip))}.a", build)


_FUNCTION = re.compile(r"^(?:__attribute__\(\(.*\)\) )?((?:static )?\w+ \w+\(\)) \{", re.MULTILINE)


def _as_the_ide_does(text: str) -> str:
    """The .ino with the core's header before it and, before its first function, prototypes of them all."""
    first = _FUNCTION.search(text)
    assert first is not None
    prototypes = "".join(f"{found};\n" for found in _FUNCTION.findall(text))
    return "#include <Arduino.h>\n" + text[: first.start()] + prototypes + text[first.start() :]


def _configured(text: str, config: Mapping[str, int | str]) -> str:
    for name, value in config.items():
        text, changed = re.subn(rf"(int {name}(?:\[\])? =) [^;]+;", rf"\1 {value};", text)
        assert changed, name
    return text


def sketch_elf(chip_name: str, config: Mapping[str, int | str] | None = None) -> Path:
    """The compiled sketch for ``chip_name``, with other values in board_config.h where ``config`` names them.

    RuntimeError with the compiler's words when it doesn't compile.
    """
    chip = CHIPS[chip_name]
    sources = sorted(file for file in SKETCH.iterdir() if file.suffix in (".ino", ".cpp", ".h"))
    core = _core(chip)

    def build(folder: Path) -> Path:
        for source in sources:
            text = source.read_text(encoding="utf-8")
            if source.suffix == ".ino":
                text = _as_the_ide_does(text)
            if source.name == "board_config.h":
                text = _configured(text, config or {})
            (folder / source.name.replace(".ino", ".ino.cpp")).write_text(text, encoding="utf-8")
        objects = []
        for source in sorted(folder.glob("*.cpp")):
            made = folder / f"{source.name}.o"
            _run(["avr-g++", "-c", *_flags(chip), *_CPP, *_STRICT, str(source), "-o", str(made)])
            objects.append(str(made))
        elf = folder / "sketch.elf"
        link = ["avr-gcc", "-w", "-Os", "-g", "-flto", "-fuse-linker-plugin", "-Wl,--gc-sections"]
        _run([*link, f"-mmcu={chip.name}", "-o", str(elf), *objects, str(core), "-lm"])
        return elf

    return _built(f"bench_helper-{chip.name}-{_digest(sources, *_flags(chip), repr(config or {}))}.elf", build)


def sketch_hex(chip_name: str) -> bytes:
    """The compiled sketch for ``chip_name`` as Intel hex, its lines ended by LF."""
    elf = sketch_elf(chip_name)

    def build(folder: Path) -> Path:
        made = folder / "sketch.hex"
        _run(["avr-objcopy", "-O", "ihex", "-R", ".eeprom", str(elf), str(made)])
        return made

    return _built(f"{elf.stem}.hex", build).read_bytes().replace(b"\r", b"")


@dataclass(frozen=True)
class Footprint:
    """Bytes of program memory and of static data."""

    flash: int
    ram: int


def footprint(elf: Path) -> Footprint:
    """Flash and RAM the compiled sketch takes; the stack comes on top of the RAM."""
    sizes: dict[str, int] = {}
    for line in _run(["avr-size", "-A", str(elf)]).splitlines():
        words = line.split()
        if len(words) == 3 and words[1].isdigit():
            sizes[words[0]] = int(words[1])
    data = sizes.get(".data", 0)
    return Footprint(sizes[".text"] + data, data + sizes.get(".bss", 0) + sizes.get(".noinit", 0))


def variables(elf: Path) -> dict[str, int]:
    """Addresses in the data space of the variables that stand in the sketch's namespaces, by their last names."""
    found = {}
    for line in _run(["avr-nm", "--defined-only", str(elf)]).splitlines():
        address, kind, mangled = line.split()
        if kind in "bBdD" and mangled.startswith("_ZN"):
            rest, name = mangled[3:], ""
            while size := re.match(r"\d+", rest):
                name, rest = rest[size.end() :][: int(size[0])], rest[size.end() + int(size[0]) :]
            found[name] = int(address, 16) - 0x800000
    return found


def bench_library() -> Path:
    """The bench around libsimavr as a shared library."""
    sources = [HARNESS / "avr_bench.c", HARNESS / "jig.c"]

    def build(folder: Path) -> Path:
        made = folder / "avr_bench.so"
        inputs = [f"-I{SIMAVR}", *map(str, sources)]
        _run(["gcc", "-O2", *_STRICT, "-shared", "-fPIC", *inputs, "-o", str(made), *_LIBRARIES, "-lm"])
        return made

    return _built(f"avr_bench-{_digest([*sources, HARNESS / 'jig.h'])}.so", build)


def host_program() -> Path:
    """The sketch's pure parts as a program for this computer, with address and undefined-behaviour checks."""
    parts = [SKETCH / f"{name}.cpp" for name in ("frames", "ramp", "bounds", "requests")]
    source = HARNESS / "pure_parts.cpp"

    def build(folder: Path) -> Path:
        made = folder / "pure_parts"
        checks = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all"]
        flags = ["-std=c++11", "-g", "-O1", "-Wconversion", *_STRICT, *checks]
        _run(["g++", *flags, f"-I{SKETCH}", str(source), *map(str, parts), "-o", str(made)])
        return made

    return _built(f"pure_parts-{_digest([source, *parts, *sorted(SKETCH.glob('*.h'))])}", build)
