"""A machine's file at work: changed an axis at a time, comments kept, nothing spoilt, each change taken back."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.records.files import path_typed, write_whole
from coilbench.records.store import Bin
from coilbench.stages.machine.edit import with_axis, without_axis
from coilbench.stages.machine.example import example_text
from coilbench.stages.machine.scene import axis_head, head_of, rows_of, supplies_of, told_of, why_of
from coilbench.stages.machine.work import MachineWork, axis_tried, machine_files
from tests.support.machines import HEAD, add, axis


@pytest.fixture
def bin_() -> Iterator[Bin]:
    with Bin.scratch() as made:
        yield made


def test_a_change_leaves_all_else_as_it_was(bin_: Bin) -> None:
    work = MachineWork.example()
    kind, texts = work.axis("vent")
    assert kind == "screw" and texts["mass"] == "4 kg" and texts["friction"] == "0.2"
    work.put(kind, {**texts, "mass": "6 kg", "friction": "", "materials": "steel on brass, oiled"}, bin_, "vent")
    before, after = example_text().splitlines(), work.text.splitlines()
    assert set(before) - set(after) == {'mass = "4 kg"', "friction = 0.2"}
    assert [line for line in before if line.startswith("#")] == [line for line in after if line.startswith("#")]
    assert after.index('mass = "6 kg"') < after.index('materials = "steel on brass, oiled"')
    assert after.index('materials = "steel on brass, oiled"') < after.index('name = "turntable"')
    assert work.is_unsaved and work.undo() and work.text == example_text() and not work.undo()


def test_an_axis_comes_and_goes(bin_: Bin) -> None:
    work = MachineWork.example()
    door = {"diameter": "20 mm", "force": "10 N", "speed": "20 mm/s", "supply": "24 V block", "motors": "2"}
    with pytest.raises(InputProblem, match="name: missing"):
        work.put("drum", door, bin_)
    work.put("drum", {**door, "name": "door"}, bin_)
    assert work.first_texts() == {"supply": "24 V block"}
    assert work.axes[-1] == "door" and tomllib.loads(work.text)["axis"][-1]["motors"] == 2
    with pytest.raises(InputProblem, match="there is no axis 'feeder'"):
        work.remove("feeder", bin_)  # the slide carries it
    assert len(work.axes) == 5
    work.remove("slide", bin_)
    assert work.axes == ("vent", "turntable", "feeder", "door") and "a motor on either side" not in work.text
    assert "Drops seed by seed" in work.text
    with pytest.raises(InputProblem, match="'vent' is taken"):
        work.put("drum", {**door, "name": "vent"}, bin_)


def test_lists_are_typed_with_commas(bin_: Bin) -> None:
    work = MachineWork(HEAD + axis("a") + axis("b") + axis("c"))
    kind, texts = work.axis("a")
    work.put(kind, {**texts, "carries": "b, c", "motor": "M-1"}, bin_, "a")
    assert tomllib.loads(work.text)["axis"][0]["carries"] == ["b", "c"]
    assert work.axis("a")[1]["carries"] == "b, c"


@pytest.mark.parametrize("odd", ["axis = 3\n", "axis = [1, 2]\n", "[axis]\nname = 1\n", "", "[[axis]]\nname = 3\n"])
def test_a_file_of_something_else_is_opened_and_said(odd: str, bin_: Bin, tmp_path: Path) -> None:
    path = tmp_path / "odd.toml"
    path.write_text(odd)
    work = MachineWork.opened(path)
    assert work.axes in ((), ("3",))
    with pytest.raises(InputProblem, match=r"odd\.toml"):
        work.fitted(bin_)


@pytest.mark.parametrize(
    "odd",
    [
        "axis = [{name = 'a', kind = 'belt'}]\n" + HEAD,
        HEAD + '[[axis]]\nname = """\n[[axis]]\nname = 1\n"""\nkind = "belt"\n' + axis("a"),
        HEAD + axis("a") + "carries = [\n  'b',\n]\n" + axis("b"),
    ],
)
def test_what_is_laid_out_oddly_is_refused_not_spoilt(odd: str) -> None:
    with pytest.raises(InputProblem, match="can't be changed here"):
        with_axis(odd, {"name": "a", "kind": "rack"}, "a")


def test_no_text_breaks_out_of_its_string(bin_: Bin) -> None:
    work = MachineWork(HEAD + axis("a"))
    name = "b\"\n[[driver]]\\ 'é"
    work.put("belt", {"name": name, "pulley-teeth": "20", "pitch": "2 mm", "mass": "1 kg", "speed": "9 mm/s"}, bin_)
    assert work.axes == ("a", " ".join(name.split())) and len(tomllib.loads(work.text)["driver"]) == 1
    assert without_axis(work.text, work.axes[1]).startswith(HEAD)


def test_a_file_is_kept_at_every_change_and_never_written_over(bin_: Bin, tmp_path: Path) -> None:
    path = tmp_path / "shed.toml"
    work = MachineWork(HEAD + axis("a"))
    work.save_as(path)
    kind, texts = work.axis("a")
    work.put(kind, {**texts, "mass": "3 kg"}, bin_, "a")
    assert 'mass = "3 kg"' in path.read_text() and not work.is_unsaved
    path.chmod(0o644)
    work.undo()
    assert 'mass = "1 kg"' in path.read_text() and path.stat().st_mode & 0o777 == 0o644
    with pytest.raises(InputProblem, match="there already"):
        MachineWork().save_as(path)
    write_whole(tmp_path / "other.toml", "[tool]\n")
    assert machine_files(tmp_path, tmp_path, tmp_path / "none") == [path]
    assert MachineWork.opened(path).axes == ("a",) and MachineWork.opened(tmp_path / "new.toml").axes == ()
    assert path_typed(f" {path} ") == path
    for name in ("x" * 300, "~nobody-of-that-name/x.toml"):
        with pytest.raises(InputProblem, match="expected a file's name"):
            path_typed(name)
    (tmp_path / "bad.toml").write_text("[[axis]\n")
    with pytest.raises(InputProblem, match=r"bad\.toml: .* expected a machine file"):
        MachineWork.opened(tmp_path / "bad.toml")


def test_what_stands_first_and_why(bin_: Bin) -> None:
    add(bin_, "one")
    work = MachineWork(HEAD.replace('volt = "24 V"', 'volt = "24 V"\nmost = "0.1 A"') + axis("slide"))
    answer = work.fitted(bin_)
    head = head_of(answer)
    assert head.kind == "answer" and head.says.startswith("every axis has its motor")
    assert "0.55 to 1.35" in head.doubt and "'block' can't give" in head.act
    assert rows_of(answer)[0][:2] == ("slide", "one") and supplies_of(answer)[0].startswith("! block:")
    heavy = MachineWork(HEAD + axis("lift", "9 kg", 'incline = "90 deg"\n')).fitted(bin_)
    assert rows_of(heavy)[0][3].startswith("! ") and head_of(heavy).act.startswith("lift: ")
    told = told_of(heavy, "lift")
    assert any(line.startswith("→") and "costs" in line for line in told) and "! a margin" in " ".join(told)
    assert any("steps per mm: " in line for line in why_of(answer, "slide"))


def test_a_form_says_what_the_command_says() -> None:
    texts = {"name": "x", "thread": "M8", "friction": "0.2", "force": "40 N", "speed": "2 mm/s", "supply": "any"}
    head = axis_head(axis_tried("screw", texts))
    assert head.figure == "160 steps/mm" and head.says.startswith("torque to raise") and "holds itself" in head.doubt
    with pytest.raises(InputProblem, match="margin"):
        axis_tried("screw", {**texts, "margin": "0.1"})
    with pytest.raises(NotEnoughKnown, match="friction"):
        axis_tried("screw", {**texts, "friction": ""})
