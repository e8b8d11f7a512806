"""The kept conversation: written without getting in the way, told again whatever state it is in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from coilbench.board.client.client import Helper
from coilbench.board.link.conversation import in_short, kept_log, read_conversation
from coilbench.errors import InputProblem


def entry(at_s: float, who: str, said: str) -> str:
    return json.dumps({"at": at_s, "from": who, "said": said})


def test_a_visit_is_told_again(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "board.jsonl"
    for _ in range(3):
        with Helper.open("virtual://bench?clock=free", lambda: kept_log(path)) as helper:
            helper.state()
    assert sorted(each.name for each in path.parent.iterdir()) == ["board-before.jsonl", "board.jsonl"]
    told = read_conversation(path)
    assert told[0].at_s == 0 and not any(said.flaw for said in told)
    assert any("board: virtual, sketch 1.3.0" in line for line in in_short(told))


def test_lines_that_came_in_pieces_and_broken_ones(tmp_path: Path) -> None:
    path = tmp_path / "log"
    lines = [
        entry(5.0, "board", "tell 1 hello proto"),
        entry(5.1, "bench", "\nstop\nask 1 beat ~AAAA\n"),
        entry(5.2, "board", "col=1\r\n\xff\x07garbage\n" + "x" * 200 + "\n"),
    ]
    path.write_text("\n".join(lines) + '\n{"at": 6.0, "fr')  # killed while it wrote
    told = read_conversation(path)
    assert [said.line[:12] for said in told] == ["stop", "ask 1 beat ~", "tell 1 hello", "ÿ.garbage", "x" * 12]
    assert [bool(said.flaw) for said in told] == [False, True, True, True, True]
    assert told[-1].flaw == "over-long" and told[0].at_s == 0 and told[-1].at_s == 0.1
    short = in_short(told)
    assert "plain stops from the bench: 1" in short and "broken lines from the board: 3" in short


@pytest.mark.parametrize("text", ["no json\n", '{"at": 1}\n', "[1]\n", '{"at": 1, "from": "moon", "said": "x"}\n'])
def test_what_is_no_conversation(tmp_path: Path, text: str) -> None:
    path = tmp_path / "log"
    path.write_text(entry(0, "bench", "stop\n") + "\n" + text)
    with pytest.raises(InputProblem, match="line 2"):
        read_conversation(path)


def test_no_file_another_kind_of_file_an_empty_one(tmp_path: Path) -> None:
    with pytest.raises(InputProblem, match="can't be read"):
        read_conversation(tmp_path / "none")
    (tmp_path / "picture").write_bytes(bytes(range(256)))
    with pytest.raises(InputProblem, match="plain text"):
        read_conversation(tmp_path / "picture")
    (tmp_path / "empty").write_text("")
    assert in_short(read_conversation(tmp_path / "empty")) == ["nothing was said"]


def test_a_kept_log_ends_when_it_is_big_enough(tmp_path: Path) -> None:
    log = kept_log(tmp_path / "board.jsonl", most_bytes=1000)
    assert log is not None
    for _ in range(100):
        log.add(1.0, "bench", b"stop\n")
    log.close()
    log.add(2.0, "bench", b"stop\n")  # closed: nothing is said of it
    assert (tmp_path / "board.jsonl").stat().st_size < 1500


def test_where_nothing_can_be_written_nothing_is_kept(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    assert kept_log(tmp_path / "file" / "board.jsonl") is None
