"""The images that come with the package, built from the sketch as it stands.

    python -m tests.firmware.images

writes them, and what built them, anew: after every change of the sketch. The same compiler makes the same bytes.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
import subprocess
from pathlib import Path

from tests.firmware import toolchain

FOLDER = toolchain.ROOT / "coilbench" / "board" / "flash" / "images"
TABLE = FOLDER / "built.csv"
_PACKAGES = ("gcc-avr", "avr-libc", "arduino-core-avr")


def compiler() -> str:
    """What compiles here: the compiler, and the Debian packages that an image's bytes depend on."""
    asked = ["dpkg-query", "-W", "-f", "${Package} ${Version};", *_PACKAGES]
    packages = subprocess.run(asked, capture_output=True, text=True, check=False).stdout
    return packages.rstrip(";").replace(";", ", ")


def built() -> dict[str, bytes]:
    """Each file of the folder, by its name, as the sketch gives it now."""
    images = {f"{chip}.hex": toolchain.sketch_hex(chip) for chip in toolchain.CHIPS}
    version = re.search(r"SKETCH_VERSION = (\d+)", (toolchain.SKETCH / "answers.h").read_text(encoding="utf-8"))
    assert version is not None
    text = io.StringIO()
    table = csv.writer(text, lineterminator="\n")
    table.writerow(("image", "sketch", "bytes", "sha256", "compiler"))
    for name, data in images.items():
        table.writerow((name, version[1], size(data), hashlib.sha256(data).hexdigest(), compiler()))
    return {**images, TABLE.name: text.getvalue().encode()}


def size(image: bytes) -> int:
    """Bytes of program memory in an image: those of its data records."""
    records = [bytes.fromhex(line[1:]) for line in image.decode("ascii").split()]
    return sum(record[0] for record in records if record[3] == 0)


def built_with() -> str:
    """What built the images that are there."""
    with TABLE.open(encoding="utf-8") as file:
        return next(csv.DictReader(file))["compiler"]


def main(folder: Path = FOLDER) -> None:
    """Write them."""
    for name, data in built().items():
        (folder / name).write_bytes(data)
        print(folder / name)


if __name__ == "__main__":
    main()
