"""Settings: what is sound is used, what isn't is named, nothing stops the bench from opening."""

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from coilbench.records.config import Config, checked, load_config


def test_all_settings(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "config.toml"
    path.write_text(
        'theme = "textual-light"\nmouse = false\nascii = true\n'
        '[keys]\n"windings.undo" = "z"\nwindings.redo = "Z"\n"bin.add" = ["a", "insert"]\n'
    )
    monkeypatch.setenv("COILBENCH_CONFIG", str(path))
    keys = {"windings.undo": "z", "windings.redo": "Z", "bin.add": "a,insert"}
    assert load_config() == Config(keys=keys, theme="textual-light", mouse=False, ascii=True)


def test_no_file_is_no_problem(tmp_path: Path) -> None:
    assert load_config(tmp_path / "config.toml") == Config()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("mouse = no", "line 1"),
        ('mouse = "no"', "mouse: 'no', expected true or false"),
        ("mouse = 0", "mouse: 0, expected true or false"),
        ("theme = 3", "theme: 3, expected text in quotes"),
        ("keys = 3", "keys: 3, expected a table"),
        ("[keys]\nx = 3", "keys.x: 3, expected a key"),
        ("[keys]\nx = []", "keys.x: [], expected a key"),
        ("mousse = true", "did you mean mouse?"),
        ("[/x]", "line 1"),
    ],
)
def test_what_is_unsound_is_named(tmp_path: Path, text: str, said: str) -> None:
    path = tmp_path / "config.toml"
    path.write_text(text)
    config = load_config(path)
    assert len(config.problems) == 1 and said in config.problems[0]
    assert (config.theme, config.mouse, config.keys) == ("", True, {})


def test_one_bad_line_leaves_the_others_in_force(tmp_path: Path) -> None:
    path = tmp_path / "config.toml"
    path.write_text('mouse = false\ntheme = 1\n[keys]\na = "x"\nb = 2\n')
    config = load_config(path)
    assert not config.mouse and config.keys == {"a": "x"} and len(config.problems) == 2


@pytest.mark.parametrize("data", [b"\xff\xfe", b"theme = '\xe4'", b"#" * 1_100_000, b"a=" + b"[" * 50_000])
def test_files_that_are_no_settings(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "config.toml"
    path.write_bytes(data)
    assert len(load_config(path).problems) == 1
    assert len(load_config(tmp_path).problems) == 1


@settings(max_examples=60, deadline=None)
@given(
    st.dictionaries(
        st.sampled_from(["theme", "mouse", "ascii", "keys", "other", "[/x]"]),
        st.recursive(
            st.booleans() | st.integers() | st.text(max_size=4),
            lambda inner: st.lists(inner, max_size=2) | st.dictionaries(st.text(max_size=4), inner, max_size=2),
            max_leaves=4,
        ),
    )
)
def test_no_table_raises(table: dict[str, object]) -> None:
    config = checked(table)
    assert all(isinstance(keys, str) for keys in config.keys.values())
    assert all("\n" not in problem for problem in config.problems)
