"""The bench: what the person has there, told once; the usual one of each kind is where every motor starts from."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import NoReturn

from coilbench.board.link.ports import PORT_EXAMPLE, PORT_TYPED
from coilbench.errors import InputProblem
from coilbench.records import writing
from coilbench.records.checks import free_name, shown
from coilbench.records.saved.own import Own, OwnBench, OwnBoard, OwnDriver, OwnMeter, OwnSupply, OwnWatch
from coilbench.records.store import Bin
from coilbench.stages.at_bench import usual_name, words
from coilbench.stages.driver.fields import BY_ID
from coilbench.stages.form import Field, FieldProblem, Texts

NAME = Field("name", "name", "left one", "What you call it; may stay empty.")
_WATCHES = {"eye": "eye", "flag": "eye", "sensor": "sensor"}


@dataclass(frozen=True)
class Kind:
    """One kind of thing: ``label`` is its word, ``fields`` are what is told of one, ``read`` makes it of them."""

    id: str
    label: str
    fields: tuple[Field, ...]
    read: Callable[[Texts], Own]

    def texts(self, thing: Own) -> dict[str, str]:
        """What is told of a thing, as it was typed."""
        return {each.id: str(getattr(thing, each.id)) for each in (NAME, *self.fields)}


def _driver(texts: Texts) -> Own:
    from coilbench.driver.catalogue import find
    from coilbench.records.own_chips import own_chips
    from coilbench.stages.driver.reading import check_own

    chip = find(_needed(texts, BY_ID["chip"]), own_chips())
    check_own(chip, texts)
    return OwnDriver(
        name="", chip=chip.chip, sense=texts.get("sense", "").strip(), sink=texts.get("sink", "").strip()
    )


def _supply(texts: Texts) -> Own:
    from coilbench.quantity import format_quantity

    field = BY_ID["supply"]
    volt = field.figure(_needed(texts, field))
    assert volt is not None
    return OwnSupply(name="", supply=format_quantity(volt, "volt", 4))


def _meter(texts: Texts) -> Own:
    from coilbench.stages.windings.judging import check_meter

    wires = texts.get("wires", "").strip()
    if wires not in ("", "2", "4"):
        raise _WIRES.problem(f"{wires!r}, expected 2 or 4")
    accuracy = check_meter(_needed(texts, _ACCURACY))
    return OwnMeter(name="", accuracy=accuracy, port=texts.get("port", "").strip(), wires=wires)


def _board(texts: Texts) -> Own:
    return OwnBoard(name="", port=_needed(texts, _PORT))


def _watch(texts: Texts) -> Own:
    text = _needed(texts, _WATCH).lower()
    if text not in _WATCHES:
        raise _WATCH.problem(f"{text!r}, expected flag or sensor")
    return OwnWatch(name="", watch="sensor" if _WATCHES[text] == "sensor" else "eye")


_ACCURACY = Field(
    "accuracy", "accuracy", "0.8% + 5 counts of 0.1 ohm", "Of its lowest ohms range, as its maker prints it."
)
_METER_PORT = Field(
    "port", "on port", "/dev/ttyUSB0", "Of a bench meter that tells its readings over a port (SCPI); may stay empty."
)
_WIRES = Field("wires", "wires", "2", "Of a meter on a port: 4 where four probes are on it, two on each lead.")
_PORT = Field("port", "port", "/dev/ttyACM0", PORT_TYPED)
_WATCH = Field("watch", "shaft", "flag", "What tells that the shaft came back: flag (your eye on it) or sensor.")

KINDS: tuple[Kind, ...] = (
    Kind("driver", "driver", tuple(BY_ID[each] for each in ("chip", "sense", "sink")), _driver),
    Kind("supply", "supply", (BY_ID["supply"],), _supply),
    Kind("meter", "meter", (_ACCURACY, _METER_PORT, _WIRES), _meter),
    Kind("board", "board", (_PORT,), _board),
    Kind("watch", "shaft", (_WATCH,), _watch),
)


def kind_called(name: str) -> Kind:
    """A kind by its id. Raises InputProblem."""
    found = next((each for each in KINDS if each.id == name), None)
    if found is None:
        raise InputProblem(f"{shown(name)} is no kind of thing, expected {', '.join(each.id for each in KINDS)}")
    return found


class OwnThings:
    """The things of a bin's bench; each act is on the disk when it returns.

    Every one may raise InputProblem for what can't be read or isn't there, and the bin's faults.
    """

    def __init__(self, bin: Bin) -> None:
        self.bin = bin

    @property
    def bench(self) -> OwnBench:
        """All there is."""
        return self.bin.own()

    def of(self, kind: Kind) -> list[Own]:
        """The things of one kind."""
        return [each for each in self.bench if each.kind == kind.id]

    def add(self, kind: Kind, texts: Texts, *, usual: bool = False) -> Own:
        """Add one; return it as it is kept."""
        thing = kind.read(texts)
        taken = [each.name for each in self.of(kind)]
        name = texts.get("name", "").strip() or free_name(usual_name(thing), taken)
        writing.put_own(self.bin, replace(thing, name=name, usual=usual))
        return self._kept(kind, name)

    def change(self, kind: Kind, name: str, texts: Texts) -> Own:
        """Tell other things of one: what ``texts`` doesn't hold stays."""
        before = self._kept(kind, name)
        texts = {**kind.texts(before), **texts}
        thing = kind.read(texts)
        called = texts["name"].strip()
        if not called or (called == name == usual_name(before)):  # its name says what it is
            others = [each.name for each in self.of(kind) if each.name != name]
            called = free_name(usual_name(thing), others)
        writing.put_own(self.bin, replace(thing, name=called, usual=before.usual), instead_of=name)
        return self._kept(kind, called)

    def make_usual(self, kind: Kind, name: str) -> Own:
        """Have every motor to come start from this one."""
        thing = self._kept(kind, name)
        writing.put_own(self.bin, replace(thing, usual=True), instead_of=thing.name)
        return self._kept(kind, thing.name)

    def remove(self, kind: Kind, name: str) -> None:
        """Take one off the bench."""
        writing.remove_own(self.bin, kind.id, self._kept(kind, name).name)

    def as_json(self) -> list[Mapping[str, object]]:
        """All there is, as JSON-plain objects."""
        return [
            {"kind": kind.id, "usual": thing.usual, **kind.texts(thing)} for kind in KINDS for thing in self.of(kind)
        ]

    def rows(self) -> list[tuple[str, str, str, str]]:
        """Kind, name, what it is, and whether it is the usual one, of each."""
        return [
            (kind.id, thing.name, words(thing), "usual" if thing.usual else "")
            for kind in KINDS
            for thing in self.of(kind)
        ]

    def _kept(self, kind: Kind, name: str) -> Own:
        found = self.bench.find(kind.id, " ".join(name.split()))
        if found is None:
            self._none(kind, name)
        return found

    def _none(self, kind: Kind, name: str) -> NoReturn:
        names = ", ".join(shown(each.name) for each in self.of(kind))
        remedy = f"there is {names}" if names else f"there is no {kind.id} yet"
        raise InputProblem(f"no {kind.id} {shown(name)} at the bench", remedy=remedy)


def _needed(texts: Texts, field: Field) -> str:
    text = texts.get(field.id, "").strip()
    if not text:
        raise FieldProblem(field.id, f"expected {field.label}, such as {field.hint}", label=field.label,
                           remedy=PORT_EXAMPLE if field is _PORT else "")  # fmt: skip
    return text
