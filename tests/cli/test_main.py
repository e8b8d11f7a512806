"""The command line itself: help, errors in one line, exit statuses, and how little it loads."""

import argparse
import subprocess
import sys
import types

import pytest

from coilbench import __version__, cli
from coilbench.errors import Fault, NotEnoughKnown


def test_help_and_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["--version"]) == 0
    assert capsys.readouterr().out == f"coilbench {__version__}\n"
    assert cli.main(["--help"]) == 0
    shown = capsys.readouterr().out
    assert all(f"  {name} " in shown for name in [*cli.COMMANDS, "demo"])


@pytest.mark.parametrize("argument", ["--help", "--version"])
def test_help_and_version_load_nothing_heavy(argument: str) -> None:
    code = f"import sys; from coilbench.cli import main; main([{argument!r}])"
    code += "; heavy = {'numpy', 'textual', 'rich', 'pint', 'sqlite3', 'serial', 'platformdirs'} & set(sys.modules)"
    code += "; sys.exit(' '.join(heavy) or 0)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nonsense"], "'nonsense' is no command"),
        (["--nonsense"], "--nonsense"),
        (["--bin"], "--bin"),
        (["demo", "more"], "more"),
        (["bin"], "required"),
        (["bin", "nonsense"], "nonsense"),
        (["bin", "show"], "name"),
        (["bin", "list", "--nonsense"], "--nonsense"),
        (["a\nb\x1b[2J"], "no command"),
    ],
)
def test_wrong_arguments_are_one_line(arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(arguments) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1 and "\x1b" not in shown.err
    assert shown.err.startswith("coilbench") and said in shown.err and "usage" not in shown.err


def command_that_raises(monkeypatch: pytest.MonkeyPatch, problem: BaseException) -> None:
    def run(args: argparse.Namespace) -> int:
        raise problem

    module = types.SimpleNamespace(HELP="", add_arguments=lambda parser: None, run=run)
    monkeypatch.setitem(sys.modules, "coilbench.cli.vref", module)
    monkeypatch.setitem(cli.COMMANDS, "vref", "")


@pytest.mark.parametrize(
    ("problem", "status", "said"),
    [
        (NotEnoughKnown("the windings come first"), 3, "coilbench vref: the windings come first\n"),
        (Fault("no answer", remedy="plug it in"), 4, "coilbench vref: no answer; plug it in\n"),
        (OSError(28, "No space left on device"), 4, "coilbench vref: No space left on device\n"),
        (KeyboardInterrupt(), 130, ""),
        (BrokenPipeError(), 141, ""),
    ],
)
def test_every_ending_has_its_status(
    problem: BaseException,
    status: int,
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    command_that_raises(monkeypatch, problem)
    assert cli.main(["vref"]) == status
    assert capsys.readouterr().err == said


def test_a_reader_that_goes_away_is_no_error(tmp_path) -> None:
    command = f"{sys.executable} -m coilbench --bin {tmp_path}/x.db diagnosis | true"
    for _ in range(3):
        done = subprocess.run(["bash", "-c", command], capture_output=True, text=True, check=False)
        assert done.stderr == ""


def test_a_terminal_without_our_signs_gets_question_marks(tmp_path) -> None:
    code = "from coilbench.cli import main; main(['--version']); print('48.2 Ω')"
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        check=False,
        env={"PYTHONIOENCODING": "ascii", "PATH": ""},
    )
    assert done.returncode == 0 and done.stdout.endswith("48.2 ?\n")


def test_the_bench_opens_without_a_command(monkeypatch: pytest.MonkeyPatch, tmp_path) -> None:
    called: list[tuple[object, bool]] = []
    app = types.SimpleNamespace(run_bench=lambda bin_path, demo: called.append((bin_path, demo)) or 0)
    monkeypatch.setitem(sys.modules, "coilbench.ui.app", app)
    monkeypatch.setattr("coilbench.cli.screen.need_a_screen", lambda: None)
    path = tmp_path / "x.db"
    assert cli.main([]) == cli.main(["demo"]) == cli.main(["--bin", str(path)]) == 0
    assert cli.main(["demo", "--bin", str(path)]) == 0
    assert called == [(None, False), (None, True), (path, False), (path, True)]


def test_without_a_terminal_the_plain_way_is_named() -> None:
    command = [sys.executable, "-m", "coilbench"]
    for arguments in ([], ["demo"]):
        done = subprocess.run(
            [*command, *arguments], capture_output=True, text=True, stdin=subprocess.DEVNULL, check=False
        )
        assert done.returncode == 2 and done.stdout == ""
        assert done.stderr.count("\n") == 1 and "windings --ask" in done.stderr


def test_diagnosis_prints_what_the_bench_copies(tmp_path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "x.db"
    assert cli.main(["diagnosis", "--bin", str(path)]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("coilbench ") and "x.db (not there yet)" in shown and not path.exists()
