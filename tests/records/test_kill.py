"""Nothing entered is lost, whatever happens to the program that entered it."""

import subprocess
import sys
import threading
from pathlib import Path

import pytest

from coilbench.records import opening, writing
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading

MOTOR = "M-07"
WRITER = Path(__file__).with_name("kill_writer.py")


@pytest.mark.parametrize(("kills", "bins"), [(20, 5), (100, 1)])
def test_kill_at_any_instant(tmp_path: Path, kills: int, bins: int) -> None:
    """200 kills: 100 on five young bins, their making included, and 100 on one bin that grows."""
    acknowledged = 0
    for number in range(bins):
        path = tmp_path / f"{number}.db"
        command = [sys.executable, str(WRITER), str(path), str(kills), str(1000 * kills + number)]
        done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=False)
        assert done.returncode == 0, done.stderr
        told = {int(saved): float(ohm) for ohm, saved in (line.split() for line in done.stdout.splitlines())}
        assert opening.problems_of(path) == []
        with Bin.open(path) as bin_:
            kept = {each.id: each.ohm for each in bin_.readings(MOTOR)}
        assert told.items() <= kept.items()
        assert len(kept) - len(told) <= kills  # at most the one that each writer was about to acknowledge
        acknowledged += len(told)
    assert acknowledged >= kills * bins // 2  # the writers did get to work


def test_two_programs_and_their_threads_lose_nothing(tmp_path: Path) -> None:
    path = tmp_path / "bin.db"
    code = """
import sys
from pathlib import Path
from coilbench.records import writing
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import Reading
with Bin.open(Path(sys.argv[1])) as bin_:
    for number in range(100):
        writing.add_reading(bin_, "M-07", Reading("RD", "BU", float(sys.argv[2]) + number))
"""
    with Bin.open(path) as bin_:
        bin_.add_motor(MOTOR, ["RD", "BU"])
        before = bin_.seen()
        programs = [subprocess.Popen([sys.executable, "-c", code, str(path), str(start)]) for start in (1000, 2000)]
        faults: list[BaseException] = []

        def write(start: int) -> None:
            try:
                for number in range(50):
                    writing.add_reading(bin_, MOTOR, Reading("RD", "BU", float(start + number)))
            except BaseException as problem:
                faults.append(problem)

        threads = [threading.Thread(target=write, args=(start,)) for start in (3000, 4000)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert [program.wait(timeout=60) for program in programs] == [0, 0] and not faults
        kept = sorted(each.ohm for each in bin_.readings(MOTOR))
        assert bin_.seen() != before
    wanted = [*range(1000, 1100), *range(2000, 2100), *range(3000, 3050), *range(4000, 4050)]
    assert kept == [float(number) for number in wanted]


def test_two_programs_may_begin_one_bin_at_once(tmp_path: Path) -> None:
    code = "import sys; from pathlib import Path; from coilbench.records.store import Bin"
    code += "; Bin.open(Path(sys.argv[1])).add_motor(sys.argv[2])"
    for attempt in range(3):
        path = tmp_path / f"{attempt}.db"
        programs = [subprocess.Popen([sys.executable, "-c", code, str(path), name]) for name in ("M-01", "M-02")]
        assert [program.wait(timeout=60) for program in programs] == [0, 0]
        with Bin.open(path) as bin_:
            assert sorted(each.name for each in bin_.motors()) == ["M-01", "M-02"]
