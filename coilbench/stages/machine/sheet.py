"""A machine's sheet for the workshop's wall: each axis with its motor, what to wire and to set, supply and fuse."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from coilbench.cautions import LIVE_DRIVER
from coilbench.plain_text import shortened
from coilbench.quantity import format_quantity, plain_number
from coilbench.records.store import Bin
from coilbench.stages import motor
from coilbench.stages.axis.answer import CAUTION as MOVING
from coilbench.stages.card.sections import steps_words
from coilbench.stages.card.state import Entry, Label, LeadLine
from coilbench.stages.card.wired import lead_lines, picture_of
from coilbench.stages.machine.answer import FitAnswer
from coilbench.stages.machine.axis_fit import AxisFit
from coilbench.stages.machine.budget import HEADS as OF_SUPPLIES
from coilbench.stages.machine.budget import Branch
from coilbench.stages.machine.setting import setting_text
from coilbench.stages.machine.weighing import OnAxis
from coilbench.stages.picture import Picture

HEADS = ("axis", "motor", "set", "peak", "travel", "supply", "fuse")
SUPPLY_HEADS = OF_SUPPLIES
LEAD_HEADS = ("lead", "colour", "place", "goes to")
_UNKNOWN = "not known"
CAUTIONS = (LIVE_DRIVER, "supply off before you join or part leads", MOVING)
TURNS = (
    "which way a motor turns is tried once, slowly; to turn it round, supply off, swap the two leads of one phase; "
    "two motors on one axis must go the same way along it"
)
_NAME = 40  # characters of a name that a page has room for


@dataclass(frozen=True, slots=True)
class WiredMotor:
    """A motor of an axis as it is connected there: ``drawn`` says what the ``picture`` shows."""

    motor: str
    kind: str
    connection: str
    picture: Picture | None
    drawn: str
    leads: tuple[LeadLine, ...]


@dataclass(frozen=True, slots=True)
class AxisPart:
    """What the sheet says of one axis; ``row`` is the same in short, under ``HEADS``."""

    name: str
    kind: str
    row: tuple[str, ...]
    entries: tuple[Entry, ...]
    motors: tuple[WiredMotor, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """The page. ``supplies`` are rows under ``SUPPLY_HEADS``, ``findings`` what there is to say of them."""

    machine: str
    day: str
    verdict: str
    axes: tuple[AxisPart, ...]
    supplies: tuple[tuple[str, ...], ...]
    findings: tuple[str, ...]
    labels: tuple[Label, ...]
    cautions: tuple[str, ...] = CAUTIONS


def sheet_of(answer: FitAnswer, bin: Bin, day: date) -> Sheet:
    """The sheet of a machine whose motors were chosen. Looks, and writes nothing."""
    branches = {branch.axis: branch for rail in answer.budgets for branch in rail.branches}
    axes = tuple(_axis(each, branches.get(each.axis.name), bin) for each in answer.axes)
    changes = (f"{each.axis} needs: {each.act}" for each in _first_of_each_axis(answer))
    supplies = (f"{rail.supply.name}: {line}" for rail in answer.budgets for line in rail.findings)
    return Sheet(
        machine=answer.machine.name,
        day=day.isoformat(),
        verdict=answer.verdict,
        axes=axes,
        supplies=tuple(row for rail in answer.budgets for row in rail.rows),
        findings=(*answer.short_of, *changes, *supplies, TURNS, *answer.notes),
        labels=tuple(_label(axis, each, day) for axis in axes for each in axis.motors),
    )


def _first_of_each_axis(answer: FitAnswer) -> Iterator[Any]:
    """The cheapest change of each axis that has no motor that does."""
    seen = set()
    for each in answer.changes:
        if each.axis not in seen:
            seen.add(each.axis)
            yield each


def _axis(fit: AxisFit, branch: Branch | None, bin: Bin) -> AxisPart:
    set_to = "" if fit.peak_ampere is None else setting_text(fit.axis.driver, fit.peak_ampere)
    peak = "" if fit.peak_ampere is None else format_quantity(fit.peak_ampere, "ampere", 3)
    steps, per_unit = _steps(fit)
    names = " + ".join(shortened(each, _NAME) for each in fit.names) or "none yet"
    fuse = "" if branch is None else branch.cells[3]
    return AxisPart(
        name=fit.axis.name,
        kind=fit.axis.kind,
        row=(fit.axis.name, names, set_to or _UNKNOWN, peak, f"{per_unit} {steps}", fit.axis.supply.name, fuse),
        entries=tuple(_entries(fit, branch, names)),
        motors=tuple(_wired(each, bin) for each in fit.there),
        warnings=fit.warnings,
    )


def _steps(fit: AxisFit) -> tuple[str, str]:
    """Steps a unit of travel: what they are called, and how many."""
    found = next(each for each in fit.figures.figures if each.key in ("steps_per_mm", "steps_per_degree"))
    return found.label, found.shown


def _entries(fit: AxisFit, branch: Branch | None, names: str) -> Iterator[Entry]:
    board, supply = fit.axis.driver, fit.axis.supply
    pair = ", a matched pair" if len(fit.there) == 2 else ""
    yield Entry("motor", names + pair if fit.there else "")
    yield Entry("connect", fit.there[0].offer.connection + _wired_else(fit) if fit.there else "")
    sense = f", sense {board.sense}" if board.sense else ""
    yield Entry("driver", f"{board.name}: {board.at_hand}{sense}")
    told = peak_and_setting(fit)
    yield Entry("set", f"{told} a winding" if told else "")
    label, per_unit = _steps(fit)
    yield Entry("microsteps", steps_words(fit.axis.microsteps))
    yield Entry(label, per_unit)
    yield Entry("speed", _speed(fit))
    if acceleration := fit.axis.texts.get("acceleration", ""):
        rate = fit.figure("acceleration_sps2")
        yield Entry("speeds up", acceleration + ("" if rate is None else f", {rate:.0f} steps/s²"))
    yield Entry("rates", fit.rates_text)
    yield Entry("torque", _torque(fit))
    yield Entry("power off", _power_off(fit))
    yield Entry("supply", f"{supply.name}, {format_quantity(supply.volt, 'volt')}")
    if branch is not None:
        _, standing, worst, fuse, wire = branch.cells
        yield Entry("takes", f"{standing} at rest; {worst} at most")
        yield Entry("fuse", f"{fuse}; wire {wire}")


def peak_and_setting(fit: AxisFit) -> str:
    """What to set, and the current that it gives; the current alone where the setting isn't known."""
    if fit.peak_ampere is None:
        return ""
    peak = f"{format_quantity(fit.peak_ampere, 'ampere', 3)} peak"
    return ", ".join(filter(None, (setting_text(fit.axis.driver, fit.peak_ampere), peak)))


def _wired_else(fit: AxisFit) -> str:
    other = {each.offer.kept for each in fit.there} - {"", fit.there[0].offer.connection}
    return f" (now wired {' and '.join(sorted(other))}: change it)" if other else ""


def _speed(fit: AxisFit) -> str:
    told = (("rate_sps", "steps/s"), ("rpm", "rpm of the motor"), ("pulses_per_second", "pulses/s"))
    figures = [(fit.figure(key), unit) for key, unit in told]
    return ", ".join(
        [
            fit.axis.texts["speed"],
            *(f"{plain_number(value, 4)} {unit}" for value, unit in figures if value is not None),
        ]
    )


def _torque(fit: AxisFit) -> str:
    if not fit.there:
        return ""
    *_, needs, pulls, margin = fit.cells
    return f"needs {needs}, pulls {pulls}: margin {margin}, {fit.axis.wanted_margin:g} wanted"


def _power_off(fit: AxisFit) -> str:
    holds = next((each.value for each in fit.figures.figures if each.key == "holds_itself"), None)
    if holds is True:
        return "the thread holds it"
    falls = any(each.worth.asked.hold_newton_metre > 0 for each in fit.there)
    return "the load pulls it back: keep it powered, or brake it" if falls else "nothing holds it, nothing pulls it"


def _wired(each: OnAxis, bin: Bin) -> WiredMotor:
    known, leads, connection = each.motor.known, bin.motor(each.motor.name).leads, each.offer.connection
    picture, drawn = picture_of(known, leads, connection)
    return WiredMotor(
        motor=each.motor.name,
        kind=motor.arrangement(known).name,
        connection=connection,
        picture=picture,
        drawn=drawn,
        leads=lead_lines(known, leads, motor.hooked_up(known, connection)),
    )


def _label(axis: AxisPart, wired: WiredMotor, day: date) -> Label:
    """For the motor's tape: where it sits, its leads, what to set."""
    _, _, set_to, peak, per_unit, supply, _ = axis.row
    return Label(
        motor=f"{shortened(axis.name, _NAME // 2)}: {wired.motor}",
        kind=wired.kind,
        leads=tuple((each.lead, each.goes or each.place) for each in wired.leads),
        figures=tuple(
            each for each in (f"{wired.connection}, {peak} peak", set_to, per_unit, supply) if each != _UNKNOWN
        ),
        stop="",
        day=day.isoformat(),
    )


def as_json(sheet: Sheet) -> dict[str, Any]:
    """The sheet as one JSON-plain object; what isn't known is null."""
    return {
        "machine": sheet.machine,
        "day": sheet.day,
        "verdict": sheet.verdict,
        "axes": [
            {
                "axis": axis.name,
                "kind": axis.kind,
                "entries": [{"name": each.name, "text": each.text or None} for each in axis.entries],
                "motors": [
                    {
                        "motor": each.motor,
                        "connection": each.connection,
                        "leads": [{"lead": lead.lead, "goes": lead.goes or None} for lead in each.leads],
                    }
                    for each in axis.motors
                ],
                "warnings": list(axis.warnings),
            }
            for axis in sheet.axes
        ],
        "supplies": [dict(zip(SUPPLY_HEADS, row, strict=True)) for row in sheet.supplies],
        "findings": list(sheet.findings),
        "cautions": list(sheet.cautions),
    }
