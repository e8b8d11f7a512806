"""Run by test_kill.py: kills writers of one bin at random moments and prints what they had acknowledged.

Usage: kill_writer.py BIN KILLS SEED. A writer is a forked process that opens the bin (the first makes it), adds
readings as fast as it can and sends the number of each over a pipe once the bin has said it is saved.
"""

import os
import random
import signal
import struct
import sys
import time
import traceback
from pathlib import Path

from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

MOTOR = "M-07"
MOST_SECONDS = 0.015


def write_without_end(path: Path, first: int, pipe: int) -> None:
    """Open the bin and add readings whose ohms count up from ``first``, telling the pipe of each."""
    with Bin.open(path) as bin_:
        try:
            bin_.motor(MOTOR)
        except InputProblem:
            bin_.add_motor(MOTOR, ["RD", "BU"])
        number = first
        while True:
            saved = writing.add_reading(bin_, MOTOR, Reading("RD", "BU", float(number)))
            writing.derive(bin_, MOTOR, Windings(arrangement="unknown", readings=number))
            os.write(pipe, struct.pack("qq", number, saved))
            number += 1


def main() -> None:
    """Kill writers, one after another."""
    path, kills, seed = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    random_ = random.Random(seed)
    for kill in range(kills):
        read_end, write_end = os.pipe()
        child = os.fork()
        if child == 0:
            try:
                write_without_end(path, kill * 10_000, write_end)
            except BaseException:
                traceback.print_exc()
            finally:
                os._exit(1)  # a writer never ends by itself: its parent takes this for a failure
        os.close(write_end)
        # Every other writer is known to be at work when it dies, however busy the machine; the rest may be anywhere.
        told = os.read(read_end, 16) if kill % 2 else b""
        time.sleep(random_.uniform(0, MOST_SECONDS))
        os.kill(child, signal.SIGKILL)
        _, status = os.waitpid(child, 0)
        if not os.WIFSIGNALED(status):
            sys.exit("a writer failed")
        while part := os.read(read_end, 65536):
            told += part
        os.close(read_end)
        for number, saved in struct.iter_unpack("qq", told):
            print(number, saved)


if __name__ == "__main__":
    main()
