"""The environment is made once, whole or not at all: what the tests made is enough for the bench, and no start that
is interrupted or doubled spoils the next one."""

from __future__ import annotations

import contextlib
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from coilbench import setup_env

# What makes environments: each holds an interpreter with a pip that only says that it was called, and a script.
MAKER = """#!/bin/sh
echo made >> {log}
{hook}
mkdir -p "$4/bin"
cat > "$4/bin/python" <<'PYTHON'
#!/bin/sh
[ "$3" = --version ] && exit 0
echo "$@" >> {log}
PYTHON
chmod +x "$4/bin/python"
printf '#!%s/bin/python\\n' "$4" > "$4/bin/tool"
"""
START = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell has its background jobs ignore it
sys.path.insert(0, sys.argv[2])
import setup_env
from pathlib import Path
setup_env.ROOT = Path(sys.argv[1])
sys.executable = sys.argv[1] + "/maker"
print(setup_env.prepare())
"""


@pytest.fixture
def checkout(tmp_path: Path) -> Path:
    (tmp_path / "pyproject.toml").write_text("[project]\n")
    maker(tmp_path)
    return tmp_path


def maker(checkout: Path, hook: str = "") -> None:
    made = checkout / "maker"
    made.write_text(MAKER.format(log=checkout / "log", hook=hook))
    made.chmod(0o755)


def gated(checkout: Path) -> None:
    """The maker waits at a gate."""
    os.mkfifo(checkout / "gate")
    maker(checkout, hook=f"cat {checkout}/gate > /dev/null")


@contextlib.contextmanager
def held(checkout: Path) -> Iterator[None]:
    """From the moment that an environment is being made, until this ends."""
    with (checkout / "gate").open("w"):  # opens once it is read
        yield


def start(checkout: Path) -> subprocess.Popen[str]:
    """A start in a process of its own."""
    command = [sys.executable, "-c", START, str(checkout), str(Path(setup_env.__file__).parent)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)


def started(checkout: Path) -> str:
    out, err = (process := start(checkout)).communicate(timeout=60)
    assert process.returncode == 0, err
    return out.strip()


def log(checkout: Path) -> list[str]:
    """``made`` for an environment that was made, pip's arguments for an installation."""
    return (checkout / "log").read_text().splitlines()


@pytest.fixture
def here(checkout: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The same for starts within this process."""
    monkeypatch.setattr(setup_env, "ROOT", checkout)
    monkeypatch.setattr(sys, "executable", str(checkout / "maker"))
    return checkout


def test_the_bench_takes_the_tests_environment(here: Path) -> None:
    setup_env.prepare("test")
    setup_env.prepare("test")
    setup_env.prepare()
    made, installed = log(here)
    assert made == "made" and installed.endswith("[test]")


def test_the_tests_need_more_than_the_bench_has(here: Path) -> None:
    setup_env.prepare()
    setup_env.prepare()
    setup_env.prepare("test")
    assert [line.endswith("[test]") for line in log(here)] == [False, False, True]


def test_other_requirements_or_another_python_install_anew(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    setup_env.prepare("test")
    (here / "pyproject.toml").write_text("[project]\nname = 'x'\n")
    setup_env.prepare()
    monkeypatch.setattr(sys, "version", "another")
    setup_env.prepare()
    assert len(log(here)) == 4 and log(here).count("made") == 1


def test_scripts_know_the_place_they_have_in_the_end(here: Path) -> None:
    python = setup_env.prepare()
    assert python == here / ".venv" / "bin" / "python" and python.exists()
    assert (here / ".venv" / "bin" / "tool").read_text() == f"#!{python}\n"
    assert [each.name for each in here.glob(".vnew*")] == []


def test_a_start_that_is_killed_leaves_nothing_that_hinders_the_next(checkout: Path) -> None:
    maker(checkout, hook='mkdir -p "$4/bin"; touch "$4/bin/python"; kill -9 $PPID; exit')
    process = start(checkout)
    process.communicate(timeout=60)
    assert process.returncode == -signal.SIGKILL and not (checkout / ".venv").exists()
    maker(checkout)
    assert started(checkout) == str(checkout / ".venv" / "bin" / "python")
    assert log(checkout)[:2] == ["made", "made"]


def test_an_environment_without_pip_is_made_anew(checkout: Path) -> None:
    python = checkout / ".venv" / "bin" / "python"
    python.parent.mkdir(parents=True)
    python.write_text("#!/bin/sh\nexit 1\n")
    python.chmod(0o755)
    started(checkout)
    assert log(checkout)[0] == "made" and len(log(checkout)) == 2 and "version" in python.read_text()


def test_two_starts_at_once_make_one_environment(checkout: Path) -> None:
    gated(checkout)
    first = start(checkout)
    with held(checkout):
        second = start(checkout)
        assert second.stderr is not None and "another start is preparing" in second.stderr.readline()
    assert first.communicate(timeout=60)[0] == second.communicate(timeout=60)[0]
    assert (first.returncode, second.returncode) == (0, 0) and log(checkout).count("made") == 1


def test_an_interrupt_is_told_in_a_line(checkout: Path) -> None:
    gated(checkout)
    process = start(checkout)
    with held(checkout):
        os.kill(process.pid, signal.SIGINT)
    out, err = process.communicate(timeout=60)
    assert process.returncode == 130 and out == "" and "Traceback" not in err and "stopped" in err


def test_a_failed_installation_leaves_what_there_was(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    python = setup_env.prepare()
    python.write_text('#!/bin/sh\n[ "$3" = --version ]\n')  # a pip that finds no network
    with pytest.raises(SystemExit):
        setup_env.prepare("test")
    assert "network" in capsys.readouterr().err
    assert setup_env.prepare() == python
