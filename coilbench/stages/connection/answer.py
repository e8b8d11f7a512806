"""What the connection comes to, to show and to pass on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from coilbench.stages.form import Answer
from coilbench.stages.head import Head
from coilbench.stages.picture import HookedUp
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.rating.choice import Bench, Choice, Pull
    from coilbench.rating.connections import Connection, ConnectionRow
    from coilbench.rating.wiring import Phase, Wire


@dataclass(frozen=True)
class ConnectionAnswer(Answer):
    """All ways to connect the motor, and the one that is taken: ``picked``.

    ``phases`` are empty while leads can't be named; then ``test`` is the one that would tell.
    """

    choice: Choice | None = None
    bench: Bench | None = None
    pulls: Mapping[Connection, Pull] = field(default_factory=dict)
    picked: ConnectionRow | None = None
    drive: str = "bipolar"
    phases: tuple[Phase, ...] = ()
    idle: tuple[str, ...] = ()
    test: str = ""
    why: str = ""
    convention: str = ""

    @property
    def head(self) -> Head:
        from coilbench.quantity import format_quantity

        row = self.picked
        if row is None or self.choice is None:
            return Head("")
        set_to = format_quantity(row.usable_ampere, "ampere", 3)
        advised = "advised" if row.connection == self.choice.choose else f"advised is {self.choice.choose}"
        return Head(
            f"{row.connection}: {set_to} peak a winding",
            "answer",
            doubt=f"{advised}; Enter takes it, F3 goes on",
            act=self.joins,
            why=(
                *([self.test] if self.test else ()),
                f"advised: {self.why}",
                *self.notes,
                *(f"{label}: {text}" for label, text in self.known),
            ),
        )

    @property
    def joins(self) -> str:
        """What to join and what to leave, in a line."""
        from coilbench.rating.wiring import UNUSED

        wires = self.wires()
        if not wires:
            return "which lead goes where isn't known yet: F2 goes back to find it"
        goes = [f"{wire.where} {'+'.join(wire.leads)}" for wire in wires if wire.where not in ("join", UNUSED)]
        joined = [f"join {'+'.join(wire.leads)}" for wire in wires if wire.where == "join"]
        left = [lead for wire in wires if wire.where == UNUSED for lead in wire.leads]
        return "; ".join((", ".join(goes), *joined, *([f"leave {', '.join(left)} apart"] if left else [])))

    @property
    def has_taps(self) -> bool:
        """Whether there are half-windings, and so other roads to them."""
        return any(row.connection == "unipolar" for row in self.rows)

    @property
    def rows(self) -> tuple[ConnectionRow, ...]:
        """The ways to connect it."""
        return self.choice.rows if self.choice is not None else ()

    def wires(self, row: ConnectionRow | None = None) -> tuple[Wire, ...]:
        """Where each lead goes for a row, the picked one if none is named; nothing while leads can't be named."""
        from coilbench.rating.wiring import wires

        row = row or self.picked
        return () if row is None else wires(row.connection, self.phases, self.idle)

    def picture(self) -> HookedUp | None:
        """The picked connection, drawn; None while leads can't be named."""
        return HookedUp(self.phases, self.wires(), self.idle) if self.picked is not None and self.phases else None


def known_lines(row: ConnectionRow, bench: Bench, pull: Pull | None) -> tuple[Known, ...]:
    """A connection in short."""
    from coilbench.quantity import format_quantity

    lines = [
        Known("picked", f"{row.connection}: {row.says}"),
        Known("rated", f"{format_quantity(row.ampere, 'ampere')} RMS a winding, two phases on"),
        Known("set peak", format_quantity(row.usable_ampere, "ampere")),
        Known("winding", f"{format_quantity(row.ohm, 'ohm')}, {format_quantity(row.volt, 'volt')}"),
    ]
    if row.henry is not None:
        lines.append(Known("henry", format_quantity(row.henry, "henry")))
    lines.append(Known("heat", f"{format_quantity(row.watt, 'watt')}, both phases, as rated"))
    if row.connection != "bipolar":
        lines.append(Known("torque", f"{row.usable_torque:.2f} of one half-winding"))
    if pull is not None:
        lines.append(Known("pulls", f"{pull.at_speed:.2f} at {60 * bench.judged_rev_per_second:.3g} rpm"))
        lines.append(Known("half at", f"{60 * pull.half_rev_per_second:.0f} rpm"))
        full = pull.full_current_rev_per_second
        lines.append(Known("supply", f"full current to {60 * full:.0f} rpm" if full else "never brings the current"))
    return tuple(lines)


def cells(row: ConnectionRow, answer: ConnectionAnswer, digits: int = 3) -> Mapping[str, str]:
    """A row's figures to read, by their names; empty where there is nothing to say.

    ``torque`` and what is pulled count against one half-winding as rated, and whole windings have none: there they
    count against themselves.
    """
    from coilbench.quantity import format_quantity

    pull, bench = answer.pulls.get(row.connection), answer.bench
    assert bench is not None
    torque = row.usable_torque if pull is None else pull.at_rest
    told = {
        "rated RMS": format_quantity(row.ampere, "ampere"),
        "set peak": format_quantity(row.usable_ampere, "ampere"),
        "ohms": format_quantity(row.ohm, "ohm", digits),
        "henry": "" if row.henry is None else format_quantity(row.henry, "henry", digits),
        "volts": format_quantity(row.volt, "volt", digits),
        "heat": format_quantity(row.watt, "watt", digits),
        "torque at rest": "" if row.connection == "bipolar" and pull is None else f"{torque:.2f}",
        "at speed": "" if pull is None else f"{pull.at_speed:.2f}",
        "half at": "" if pull is None else f"{60 * pull.half_rev_per_second:.0f}",
    }
    if pull is not None:
        speed = f"at {60 * bench.judged_rev_per_second:.3g} rpm"
        told = {{"at speed": speed, "half at": "half at rpm"}.get(name, name): text for name, text in told.items()}
    return told


def as_json(answer: ConnectionAnswer) -> dict[str, Any]:
    """The answer as one JSON-plain object, SI units."""
    assert answer.choice is not None and answer.bench is not None
    return {
        "rows": [_row_object(row, answer) for row in answer.rows],
        "choose": answer.choice.choose,
        "why": answer.choice.why,
        "judged_at_rev_per_second": answer.bench.judged_rev_per_second if answer.pulls else None,
        "limit_peak_amp": answer.bench.limit_peak_ampere,
        "convention": answer.convention,
        "test": answer.test or None,
        "notes": list(answer.notes),
    }


def _row_object(row: ConnectionRow, answer: ConnectionAnswer) -> dict[str, Any]:
    pull = answer.pulls.get(row.connection)
    return {
        "connection": row.connection,
        "drive": row.drive,
        "amp": row.ampere,
        "rms_amp": row.ampere,
        "equal_heat_peak_amp": row.equal_heat_peak_ampere,
        "ohm": row.ohm,
        "henry": row.henry,
        "volt": row.volt,
        "watt": row.watt,
        "torque_relative": row.torque_relative,
        "usable_amp": row.usable_ampere,
        "set_peak_amp": row.usable_ampere,
        "usable_torque_relative": row.usable_torque,
        "speed_limit_rev_per_second": None if pull is None else pull.full_current_rev_per_second,
        "torque_at_rest_relative": None if pull is None else pull.at_rest,
        "torque_at_speed_relative": None if pull is None else pull.at_speed,
        "half_torque_rev_per_second": None if pull is None else pull.half_rev_per_second,
        "wiring": [{"to": wire.where, "leads": list(wire.leads)} for wire in answer.wires(row)],
    }
