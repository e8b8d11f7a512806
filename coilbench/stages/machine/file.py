"""A machine file: TOML, written by hand. Every problem is told with file, place, key and what was expected."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Generic, TypeVar

from coilbench.driver.computer_supply import rail_of
from coilbench.errors import InputProblem, NotEnoughKnown
from coilbench.plain_text import is_plain
from coilbench.quantity import parse_marking
from coilbench.records.saved.own import Own
from coilbench.stages.axis.answer import axis_answer
from coilbench.stages.axis.fields import KINDS, AxisField
from coilbench.stages.connection.at_hand import driver_at_hand
from coilbench.stages.machine.at_bench import drivers_at_bench, supplies_at_bench
from coilbench.stages.machine.keys import DRIVER, LISTS, SUPPLY, axis_fields
from coilbench.stages.machine.machine import DriverBoard, Machine, MachineAxis, Supply

MOST_BYTES = 256 * 1024
EXPECTED = "expected a machine file in TOML"
_TABLES = ("name", "axis", "driver", "supply")
_MOST_AXES = 12
_LONGEST_NAME = 40
T = TypeVar("T", bound=DriverBoard | Supply)
_Values = dict[str, float | str]


def machine_in(text: str, file: str, own: Iterable[Own] = ()) -> Machine:
    """The machine that a file's text describes; ``file`` is its name in messages. Raises InputProblem.

    Drivers and supplies at the bench are ``own``: a file may name them, and one that has none of a kind itself takes
    the usual one.
    """
    tables = tables_in(text, file)
    for key in tables:
        if key not in _TABLES:
            raise InputProblem(f"{file}: key {key!r} is not known{_near(key, _TABLES)}")
    name = tables.get("name", "machine")
    if not isinstance(name, str):
        raise InputProblem(f"{file}, name: {_brief(name)}, expected a text in quotes")
    own = tuple(own)
    supplies = _Stock(
        [_supply(each, where) for where, each in _listed(tables, "supply", file)], *supplies_at_bench(own)
    )
    drivers = _Stock(
        [_driver(each, where) for where, each in _listed(tables, "driver", file)], *drivers_at_bench(own)
    )
    axes = tuple(_axis(each, where, drivers, supplies) for where, each in _listed(tables, "axis", file))
    if not axes:
        raise InputProblem(f"{file}: no [[axis]] in it, expected one table [[axis]] for each axis")
    if len(axes) > _MOST_AXES:
        raise InputProblem(f"{file}: {len(axes)} axes, expected at most {_MOST_AXES}")
    _check_motors(axes, file)
    _check_carrying(axes, file)
    return Machine(name, axes, drivers.things, supplies.things, file)


def tables_in(text: str, file: str) -> dict[str, Any]:
    """What is written there, whatever it is. Raises InputProblem for what is no TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as problem:
        raise InputProblem(f"{file}: {problem}, {EXPECTED}") from None
    except (RecursionError, ValueError):
        raise InputProblem(f"{file}: a number too long or tables too deep to be a machine's, {EXPECTED}") from None


class _Stock(Generic[T]):
    """What there is of a kind: the file's own, and those at the bench that it doesn't name itself."""

    def __init__(self, told: Sequence[T], at_bench: Sequence[T], usual: T | None) -> None:
        taken = {each.name for each in told}
        self.things: tuple[T, ...] = (*told, *(each for each in at_bench if each.name not in taken))
        self._usual: T | None = (told[0] if len(told) == 1 else None) if told else usual

    def called(self, name: Any, kind: str, where: str) -> T:
        """The one that is named; the usual one where none is. Raises InputProblem."""
        if name is None and self._usual is not None:
            return self._usual
        found = next((each for each in self.things if each.name == name), None)
        if found is None:
            names = ", ".join(repr(each.name) for each in self.things)
            expected = f"one of {names}" if names else f"a table [[{kind}]], or one told with coilbench bench"
            raise InputProblem(f"{where}, {kind}: {_brief(name)}, expected {expected}")
        return found


def _listed(tables: Mapping[str, Any], kind: str, file: str) -> Iterable[tuple[str, Mapping[str, Any]]]:
    """Each table of a kind with where it stands; names are there, and differ."""
    found = tables.get(kind, [])
    if not isinstance(found, list) or not all(isinstance(each, dict) for each in found):
        raise InputProblem(f"{file}, {kind}: expected one table [[{kind}]] for each {kind}")
    names: list[str] = []
    listed = []
    for number, each in enumerate(found, 1):
        name = each.get("name")
        if not isinstance(name, str) or not name.strip() or len(name) > _LONGEST_NAME or not is_plain(name):
            expected = f"expected a text in quotes of up to {_LONGEST_NAME} letters"
            raise InputProblem(f"{file}, {kind} {number}, name: {_brief(name)}, {expected}")
        if name in names:
            raise InputProblem(f"{file}, {kind} {number}, name: {name!r} is taken, expected another name")
        names.append(name)
        listed.append((f"{file}, {kind} {name!r}", each))
    return listed


def _brief(value: Any) -> str:
    return "missing" if value is None else repr(value)[:40]


def _near(key: str, known: Iterable[str]) -> str:
    known = list(known)
    near = difflib.get_close_matches(key, known, 1)
    return f", expected {near[0]}" if near else f", expected one of {', '.join(known)}"


def _read(table: Mapping[str, Any], fields: Mapping[str, AxisField], where: str) -> tuple[dict[str, str], _Values]:
    """Each key's text and value. Raises InputProblem."""
    texts: dict[str, str] = {}
    values: _Values = {}
    for key, value in table.items():
        if key in LISTS and "kind" in fields and "speed" in fields:
            continue
        if key not in fields:
            raise InputProblem(f"{where}: key {key!r} is not known{_near(key, fields)}")
        if isinstance(value, bool) or not isinstance(value, str | int | float) or value == "":
            raise InputProblem(f"{where}, {key}: {_brief(value)}, expected {_wanted(fields[key])}")
        text = value if isinstance(value, str) else repr(value)
        try:
            values[fields[key].id] = fields[key].value(text)
        except InputProblem as problem:
            happened = problem.happened.removeprefix(f"{key}: ")
            raise InputProblem(f"{where}, {key}: {happened}") from None
        texts[fields[key].id] = text
    return texts, values


def _wanted(field: AxisField) -> str:
    if field.unit == "text":
        return f"a text in quotes: {field.help}"
    return "a number" if field.unit in ("number", "count", "share") else "a figure with its unit, in quotes"


def _supply(table: Mapping[str, Any], where: str) -> Supply:
    _, values = _read(table, {each.key: each for each in SUPPLY}, where)
    if "computer" in values:
        if "volt" in values or "most" in values:
            raise InputProblem(f"{where}, computer: the design guide says volt and most, expected its rail alone")
        try:
            rail = rail_of(str(values["computer"]), str(values.get("rail", "")))
        except InputProblem as problem:
            raise InputProblem(f"{where}, {problem.happened}") from None
        return Supply(str(values["name"]), rail.volt, rail.most_ampere, rail.supply, rail.rail)
    if "rail" in values:
        raise InputProblem(f"{where}, rail: of which supply? expected computer = such as '300 W'")
    if "volt" not in values:
        raise InputProblem(f"{where}, volt: missing, expected a voltage such as volt = '24 V'")
    most = values.get("most")
    return Supply(str(values["name"]), float(values["volt"]), None if most is None else float(most))


def _driver(table: Mapping[str, Any], where: str) -> DriverBoard:
    texts, values = _read(table, {each.key: each for each in DRIVER}, where)
    if ("chip" in values) == ("most" in values):
        raise InputProblem(f"{where}, chip: expected either chip, or most and kind where the chip isn't known")
    if "most" in values and "kind" not in values:
        raise InputProblem(f"{where}, kind: missing, expected bipolar or unipolar")
    at_hand = texts.get("chip") or texts["most"]
    try:
        driver_at_hand(at_hand)
    except InputProblem as problem:
        raise InputProblem(f"{where}, chip: {problem.happened}, expected one of the driver table's chips") from None
    if "sense" in texts:
        try:
            parse_marking(texts["sense"])
        except InputProblem as problem:
            raise InputProblem(f"{where}, sense: {problem.happened}") from None
    count = values.get("count")
    return DriverBoard(
        name=str(values["name"]),
        at_hand=at_hand,
        kind=str(values.get("kind", "")),
        count=None if count is None else int(count),
        sense=texts.get("sense", ""),
    )


def _axis(
    table: Mapping[str, Any], where: str, drivers: _Stock[DriverBoard], supplies: _Stock[Supply]
) -> MachineAxis:
    kind = table.get("kind")
    if not isinstance(kind, str) or kind not in KINDS:
        raise InputProblem(f"{where}, kind: {_brief(kind)}, expected one of {', '.join(KINDS)}")
    fields = axis_fields(kind)
    texts, values = _read(table, fields, where)
    if "speed" not in values:
        raise InputProblem(f"{where}, speed: missing, expected how fast it has to be, such as '20 mm/s' or '30 rpm'")
    own = ("name", "kind", "driver", "supply", "motor_mass", "margin")
    carries = _names(table, "carries", where)
    if carries and kind == "table":
        raise InputProblem(f"{where}, carries: expected none on a turning axis, but its load's inertia as inertia")
    mass = values.get("motor_mass")
    names = _names(table, "motor", where)
    motors = int(values.get("motors", len(names) or 1))
    if names and len(names) != motors:
        raise InputProblem(f"{where}, motor: {len(names)} named, expected {motors}")
    axis = MachineAxis(
        name=str(values["name"]),
        kind=kind,
        texts={key: text for key, text in texts.items() if key not in own} | {"motors": str(motors)},
        driver=drivers.called(values.get("driver"), "driver", where),
        supply=supplies.called(values.get("supply"), "supply", where),
        motors=motors,
        motor_names=names,
        carries=carries,
        motor_mass_kilogram=None if mass is None else float(mass),
        wanted_margin=float(values.get("margin", 2.0)),
    )
    try:
        axis_answer(kind, axis.texts)  # all that is asked of it later is asked once here, where the file is known
    except InputProblem as problem:
        raise InputProblem(f"{where}, {problem.happened}") from None
    except NotEnoughKnown as problem:
        expected = problem.remedy.removeprefix("give ").replace("--", "")
        raise InputProblem(f"{where}: {problem.happened}, expected {expected}") from None
    return axis


def _names(table: Mapping[str, Any], key: str, where: str) -> tuple[str, ...]:
    value = table.get(key, [])
    names = [value] if isinstance(value, str) else value
    if not isinstance(names, list) or not all(isinstance(each, str) and each for each in names):
        raise InputProblem(f"{where}, {key}: {_brief(value)}, expected a name in quotes or a list of them")
    if len(set(names)) != len(names):
        raise InputProblem(f"{where}, {key}: {_brief(value)}, expected each name once")
    return tuple(names)


def _check_motors(axes: Sequence[MachineAxis], file: str) -> None:
    """Each motor that is named sits on one axis."""
    sits: dict[str, str] = {}
    for axis in axes:
        for name in axis.motor_names:
            if name in sits:
                where = f"{file}, axis {axis.name!r}, motor"
                raise InputProblem(f"{where}: {name!r} is on {sits[name]!r} already, expected another one")
            sits[name] = axis.name


def _check_carrying(axes: Sequence[MachineAxis], file: str) -> None:
    by_name = {each.name: each for each in axes}
    carrier: dict[str, str] = {}
    for axis in axes:
        where = f"{file}, axis {axis.name!r}, carries"
        for name in axis.carries:
            if name not in by_name:
                raise InputProblem(f"{where}: there is no axis {name!r}, expected one of {', '.join(by_name)}")
            if name in carrier:
                raise InputProblem(f"{where}: {name!r} rides on {carrier[name]!r} already, expected one carrier")
            carrier[name] = axis.name
    for axis in axes:
        way = [axis.name]
        while (above := carrier.get(way[-1])) is not None:
            if above == axis.name:
                loop = " on ".join(map(repr, (*way, above)))
                raise InputProblem(
                    f"{file}, axis {axis.name!r}, carries: a loop, {loop}, expected an axis carried by none of "
                    "those it carries"
                )
            if above in way:
                break
            way.append(above)
