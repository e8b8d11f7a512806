"""A machine at work: the text of its file, changed an axis at a time, saved as it changes, and taken back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from coilbench.errors import CoilbenchError, InputProblem
from coilbench.records.files import text_of, write_whole
from coilbench.records.store import Bin
from coilbench.stages.axis.answer import axis_answer
from coilbench.stages.axis.fields import KINDS
from coilbench.stages.figures import FiguresAnswer
from coilbench.stages.machine.answer import FitAnswer
from coilbench.stages.machine.edit import axes_in, table_of, texts_of, with_axis, without_axis
from coilbench.stages.machine.example import example_text
from coilbench.stages.machine.file import EXPECTED, MOST_BYTES, machine_in, tables_in
from coilbench.stages.machine.fit import fit_answer
from coilbench.stages.machine.keys import LISTS, OF_THE_MACHINE, axis_fields
from coilbench.stages.machine.machine import Machine

NEW, EXAMPLE = "a new machine", "the example"
_MOST_LISTED = 12


class MachineWork:
    """``path`` is None for the example or a new machine that no file was named for: it is kept here alone then."""

    def __init__(self, text: str = "", path: Path | None = None, name: str = NEW) -> None:
        self.text, self.path, self.name = text, path, name
        self._before: list[str] = []
        self._saved = text

    @classmethod
    def example(cls) -> MachineWork:
        """The machine that comes with the project."""
        return cls(example_text(), name=EXAMPLE)

    @classmethod
    def opened(cls, path: Path) -> MachineWork:
        """That of a file; one that isn't there is begun by the first save. Raises InputProblem."""
        text = text_of(path, MOST_BYTES, EXPECTED) if path.exists() else ""
        work = cls(text, path, path.name)
        tables_in(text, path.name)
        return work

    @property
    def is_unsaved(self) -> bool:
        """Whether what was changed is in no file."""
        return self.text != self._saved

    @property
    def axes(self) -> tuple[str, ...]:
        """The names of the axes, in the order of the file."""
        return tuple(str(each.get("name", "")) for each in axes_in(self.text))

    def machine(self, bin: Bin) -> Machine:
        """What the text describes, with the bench's drivers and supplies. Raises InputProblem."""
        return machine_in(self.text, self.name, bin.own())

    def fitted(self, bin: Bin) -> FitAnswer:
        """Which motor goes where. Raises InputProblem, NotEnoughKnown."""
        return fit_answer(self.machine(bin), bin)

    def axis(self, name: str) -> tuple[str, dict[str, str]]:
        """The kind and the form's texts of an axis. Raises InputProblem."""
        table = next((each for each in axes_in(self.text) if each.get("name") == name), None)
        kind = None if table is None else table.get("kind")
        if table is None or kind not in KINDS:
            raise InputProblem(f"there is no axis {name!r} of a kind that is known", remedy="look at the file")
        texts = texts_of(table)
        return kind, {key: text for key, text in texts.items() if key != "kind"}

    def first_texts(self) -> dict[str, str]:
        """What the form of another axis starts with: the last one's driver and supply."""
        last = axes_in(self.text)[-1:]
        return {key: str(each[key]) for each in last for key in ("driver", "supply") if key in each}

    def kind(self, name: str) -> str:
        """The kind of an axis as the text has it; empty where it has none."""
        return next((str(each.get("kind", "")) for each in axes_in(self.text) if each.get("name") == name), "")

    def axis_answer(self, name: str) -> FiguresAnswer | None:
        """What an axis comes to by itself; None where that can't be said."""
        try:
            return axis_tried(*self.axis(name))
        except CoilbenchError:
            return None

    def put(self, kind: str, texts: Mapping[str, str], bin: Bin, instead_of: str = "") -> None:
        """Add an axis, or change the one of the name ``instead_of``; saved at once where there is a file.

        Raises InputProblem for what can't be, with the file's own words; nothing has changed then.
        """
        table = table_of(kind, {"name": texts.get("name", ""), "kind": kind, **texts})
        changed = with_axis(self.text, table, instead_of)
        machine_in(changed, self.name, bin.own())
        self._change(changed)

    def remove(self, name: str, bin: Bin) -> None:
        """Take an axis out. Raises InputProblem where another needs it."""
        changed = without_axis(self.text, name)
        if axes_in(changed):
            machine_in(changed, self.name, bin.own())
        self._change(changed)

    def undo(self) -> bool:
        """Take back the last change; whether there was one."""
        if not self._before:
            return False
        text = self._before.pop()
        self._save(text)
        self.text = text
        return True

    def save_as(self, path: Path) -> None:
        """Name the file, write it, and go on in it. Raises InputProblem for one that is there already."""
        if path.exists():
            raise InputProblem(f"{path} is there already", remedy="choose another name, or open it")
        write_whole(path, self.text)
        self.path, self.name, self._saved = path, path.name, self.text

    def _change(self, text: str) -> None:
        self._save(text)
        self._before.append(self.text)
        self.text = text

    def _save(self, text: str) -> None:
        if self.path is not None:
            write_whole(self.path, text)
            self._saved = text


def axis_tried(kind: str, texts: Mapping[str, str]) -> FiguresAnswer:
    """What a form's texts come to by themselves, before any motor. Raises InputProblem, NotEnoughKnown."""
    fields = axis_fields(kind)
    own = {each.key for each in OF_THE_MACHINE} | set(LISTS)
    for key, text in texts.items():
        if key in own and key not in LISTS and text.strip():
            fields[key].value(text)
    given = {key: text for key, text in texts.items() if key not in own or key == "motors"}
    return axis_answer(kind, given)


def machine_files(*folders: Path) -> list[Path]:
    """Files in these folders that look like a machine's, a dozen at most."""
    return list(_looked_through(folders))[:_MOST_LISTED]


def _looked_through(folders: tuple[Path, ...]) -> Iterator[Path]:
    for folder in dict.fromkeys(folders):
        try:
            paths = sorted(folder.glob("*.toml"))
        except OSError:
            continue
        for path in paths:
            try:
                with path.open("rb") as stream:
                    head = stream.read(MOST_BYTES)
            except OSError:
                continue
            if b"[[axis]]" in head:
                yield path
