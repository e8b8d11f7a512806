"""Exports that somebody has been at: refused with the place, or let in whole, and no stage stumbles over them."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from coilbench.cli import main
from coilbench.errors import CoilbenchError, InputProblem
from coilbench.plain_text import is_plain
from coilbench.records import exchange
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk
from coilbench.stages.form import FormStage
from coilbench.stages.jog.searches import KINDS
from coilbench.stages.jog.stage import JogStage
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.overview import overview
from coilbench.stages.table import STAGES, next_row, not_needed
from coilbench.stages.windings.stage import WindingsStage

EARLIER = Path(__file__).parents[1] / "records" / "earlier" / "export-1.json"
NESTED: Any = []
for _ in range(200):
    NESTED = [NESTED]
HOSTILE: tuple[Any, ...] = (
    *(1e308, -1e308, 5e-324, 1e15, -1, 0, 1, 3, 2**53, 10**400, True, None, [], {}, NESTED, {"a": NESTED}, [None]),
    *("", "x" * 10_001, "x" * 199, "\x1b]52;c;eA==\x07", "\u202egro", "\u00a0", "a\nb", "OL", "frame", "probes"),
    *("0", "1e308 A", "resonance", "prove", "acceleration", "half", "wave", "unipolar-5", "five-phase-ring-5"),
    *("bipolar-4", "three-phase-star-4", "unknown", "open", "series", "parallel", "ULN2003A", "R1", "2026-01-01"),
)


@pytest.fixture(scope="module")
def sound() -> dict[str, Any]:
    """A worked bin, as this version exports it."""
    with Bin.scratch() as bin_:
        exchange.import_text(bin_, EARLIER.read_text(encoding="utf-8"))
        return exchange.export_object(bin_)


def places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Every container in a value, with each of its keys."""
    for key in list(value) if isinstance(value, dict) else range(len(value)):
        yield value, key
        if isinstance(value[key], (dict, list)):
            yield from places(value[key])


def at_them(sound: dict[str, Any], random_: random.Random) -> dict[str, Any]:
    """One motor of the export with one to three things changed, taken out, put in or put elsewhere."""
    motor = copy.deepcopy(random_.choice(sound["motors"]))
    for _ in range(random_.choice((1, 1, 2, 3))):
        every = list(places(motor))
        holder, key = random_.choice(every)
        kin = [(other, of) for other, of in every if type(other[of]) is type(holder[key])]
        other, of = random_.choice(kin)
        how = random_.randrange(10)
        if how == 0:
            del holder[key]
        elif how == 1 and isinstance(holder, dict):
            holder[random_.choice(("extra", "kind", "\x1b[2J", "drive"))] = random_.choice(HOSTILE)
        elif how == 2 and isinstance(holder, list):
            holder.insert(key, copy.deepcopy(holder[key]))
        elif how in (3, 4, 5):
            holder[key] = copy.deepcopy(other[of])
        elif how in (6, 7) and type(holder[key]) in (int, float):
            holder[key] *= random_.choice((0, 1e-12, 1e-3, 0.5, 2, 1e3, 1e9, 1e14))
        else:
            holder[key] = random_.choice(HOSTILE)
    return {**sound, "motors": [motor]}


def look_at_everything(bin_: Bin, name: str) -> None:
    """What screens and commands do with a motor, as far as it goes without its being moved."""
    record = bin_.motor(name)
    known = bin_.known(name)
    next_row(known)
    not_needed(known)
    told: list[Any] = [overview(bin_, record)]
    for row in STAGES:
        stage = row.stage_class()(Desk(bin_, name))
        told += stage.summary(known)
        if isinstance(stage, FormStage):
            attempt(lambda stage=stage: stage.answer(stage.texts()))
        elif isinstance(stage, WindingsStage):
            attempt(lambda stage=stage: (stage.work_out(), stage.state, stage.page(), stage.result()))
        elif isinstance(stage, OrderStage):
            attempt(lambda stage=stage: (stage.state, stage.sentences()))
        elif isinstance(stage, JogStage):
            attempt(lambda stage=stage: jog(stage))
    assert is_plain(str(told))


def jog(stage: JogStage) -> None:
    """Everything up to the first move, as if the slow turn had been looked at."""
    do(stage, stage.connect({**stage.texts(), "port": "virtual://bench?clock=free"}))
    stage.setup()
    if stage.board is not None:
        stage.stand = "turned"
        do(stage, stage.turned("once"))
        for kind in KINDS:
            attempt(lambda kind=kind: do(stage, stage.choose(kind)))
            str(stage.scene)
    str(stage.known_now)
    stage.close()


def do(stage: JogStage, job: Any) -> None:
    while job is not None:
        try:
            result = job(lambda state, rate: None)
        except CoilbenchError as problem:
            stage.failed(problem)
            return
        job = stage.done(result)


def attempt(work: Any) -> None:
    """What can't be done is said in words."""
    try:
        work()
    except CoilbenchError as problem:
        assert len(str(problem)) <= 300 and is_plain(str(problem))


def check_imports(tmp_path: Path, sound: dict[str, Any], seed: int, count: int, capsys: Any) -> dict[str, int]:
    random_ = random.Random(seed)
    tally = {"in": 0, "refused": 0}
    for number in range(count):
        text = json.dumps(at_them(sound, random_))
        path = tmp_path / f"{number}.db"
        with Bin.open(path) as bin_:
            try:
                exchange.import_text(bin_, text)
            except InputProblem as problem:
                assert len(str(problem)) <= 300 and is_plain(str(problem)) and bin_.motors() == []
                tally["refused"] += 1
                continue
            assert exchange.export_object(bin_) == json.loads(text), number
            name = bin_.motors()[0].name
            look_at_everything(bin_, name)
        tally["in"] += 1
        vref = ["vref", "--motor", name, "--chip", "A4988", "--sense", "R100"]
        for command in (
            ["bin", "show", name],
            ["bin", "list"],
            ["connect", "--motor", name],
            ["rate", "--motor", name],
            vref,
        ):
            assert main([*command, "--bin", str(path)]) in (0, 2, 3, 4), (number, command)
            shown = capsys.readouterr()
            assert all(is_plain(line) for line in (shown.out + shown.err).splitlines()), (number, command)
    return tally


def test_some_hostile_imports(tmp_path: Path, sound: dict[str, Any], capsys: pytest.CaptureFixture[str]) -> None:
    tally = check_imports(tmp_path, sound, 1, 40, capsys)
    assert min(tally.values()) >= 5


@pytest.mark.long("hostile")
def test_twelve_hundred_hostile_imports(
    tmp_path: Path, sound: dict[str, Any], capsys: pytest.CaptureFixture[str]
) -> None:
    tally = check_imports(tmp_path, sound, 2, 1200, capsys)
    assert min(tally.values()) >= 150
