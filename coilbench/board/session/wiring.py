"""What to wire where, with the board's own pins, as lines of plain text narrow enough for a side column."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from coilbench.rating.coil_lines import LINE_NAMES, CoilLines

_PLAIN = str.maketrans({"─": "-", "▸": ">", "◂": "<", "┬": "+", "└": "`", "├": "+"})
_TWO_COILS = ["motor   ────── coil A, coil B"]
_WIRE_LETTERS = 22  # what fits beside the board's pins
_LEAD_LETTERS = 12  # a lead's name is shown up to so many letters

# What the drawing has no room for, told beside it.
_DRIVER_ALSO = (
    "The driver also needs its logic supply, RESET joined to SLEEP where it has them, MS pins as its sheet says."
)
_COILS_ALSO = "For the phase order the leads were on other lines: wire them again."


def also(kind: str) -> str:
    """What to see to beside the drawing (common practice with driver boards; our own two drawings)."""
    return _DRIVER_ALSO if kind == "driver" else _COILS_ALSO


Pins = Mapping[str, Mapping[str, Any]]


def driver_wiring(pins: Pins, wires: Sequence[str], *, ascii: bool = False) -> list[str]:
    """Board to step/direction driver; ``wires`` are the motor's leads on the driver, where known."""
    driver, sense = pins["driver"], pins["sense"]
    on = "low" if driver["active"] == 0 else "high"
    pull = "pull-up to 5 V" if driver["active"] == 0 else "pull-down"
    lines = [
        "board          driver",
        f"pin {driver['step']!s:<3} ─────▸ STEP",
        f"pin {driver['dir']!s:<3} ─────▸ DIR",
        f"pin {driver['enable']!s:<3} ─────▸ ENABLE, {on} = on,",
        f"               10 k {pull}",
        "ground  ────── ground",
        f"pin {sense['index']!s:<3} ◂───── index sensor, if any",
        "               driver",
        *([f"{'':15}{wire}" if len(wire) <= _WIRE_LETTERS else wire for wire in wires] or _TWO_COILS),
        "supply + ─fuse─▸ VM, with its",
        "               capacitor close by",
    ]
    return _plain(lines, ascii)


def coil_wiring(pins: Pins, kind: str, laid: CoilLines, *, ascii: bool = False, sensor: bool = True) -> list[str]:
    """Board to transistor array or dual H-bridge and on to the motor, lines in the order A, B, A', B'."""
    leads = laid.leads or tuple(f"end {name}?" for name in LINE_NAMES)
    numbers = [pins["coils"][name] for name in "abcd"]
    array = kind == "array"
    rows = list(zip(numbers, LINE_NAMES, leads, strict=True))
    if not array:  # a bridge's two sides of one coil stand together
        rows = [rows[0], rows[2], rows[1], rows[3]]
    lines = [f"board       {'array      ' if array else 'dual bridge'}  motor"]
    lines += [
        f"pin {pin!s:<3} {name:<2} ─▸ in {place} out {place} ── {lead[:_LEAD_LETTERS]}"
        for place, (pin, name, lead) in enumerate(rows, 1)
    ]
    # While the boot loader runs the pins float: the resistors hold the lines at the level that is off.
    lines.append(f"10 k from each of these to {'ground' if pins['coils']['active'] else '5 V'}")
    lines.append("ground ──── ground ──── supply -")
    if array:
        supply = " + ".join(laid.supply) or "the common"
        lines += [
            f"supply + ─fuse─┬─ {supply}",
            "               └─ array's common pin",
        ]
    else:
        lines += ["supply + ─fuse─▸ bridge, motor side", "both bridges' enable: on"]
    lines += laid.joins
    if sensor:
        lines.append(f"pin {pins['sense']['index']!s:<3} ◂── index sensor, if any")
    if laid.doubt:
        lines.append(laid.doubt)
    return _plain(lines, ascii)


def clip_wiring(pins: Sequence[int], leads: Sequence[str]) -> list[str]:
    """Which lead goes on which clip: clip n is on a digital pin and on analogue input n - 1, through resistors."""
    return [
        *(f"clip {n + 1}: {lead} (pin {pin}, A{n})" for n, (pin, lead) in enumerate(zip(pins, leads, strict=False))),
        "each clip: 220 ohm to its pin, 10 kohm to its A, 100 kohm to ground",
    ]


def _plain(lines: list[str], ascii: bool) -> list[str]:
    return [line.translate(_PLAIN) for line in lines] if ascii else lines
