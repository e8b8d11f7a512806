"""The jig's circuit as the harness solves it, against a circuit simulator (ngspice, Debian's package)."""

from __future__ import annotations

import ctypes
import random
import re
import subprocess
from pathlib import Path

import pytest

from coilbench.board.virtual.windings import Windings
from coilbench.winding.engine.catalogue import CATALOGUE
from tests.firmware import toolchain
from tests.firmware.jig import Circuit, OnClips
from tests.support import ngspice

CLIPS, HIGH, LOW = 8, 2, 3  # and two of harness/jig.h's pin states
TIMES_MS = (0.003, 0.02, 0.1, 0.6, 3.0)


def netlist(circuit: Circuit, high: int, lows: tuple[int, ...]) -> str:
    """Clip ``high`` at the supply, ``lows`` at ground, the others inputs; windings without current at first."""
    lines = ["leads on clips", f"vs supply 0 {circuit.supply}"]
    for number in range(CLIPS):
        clip = circuit.clip[number]
        lines.append(f"rb{number} n{number} 0 {clip.bleed}")
        if number == high:
            lines.append(f"rh n{number} supply {clip.series + clip.pin_high}")
        if number in lows:
            lines.append(f"rl{number} n{number} 0 {clip.series + clip.pin_low}")
    for number in range(circuit.branches):
        branch = circuit.branch[number]
        lines.append(f"r{number} n{branch.start} m{number} {branch.ohm}")
        lines.append(f"l{number} m{number} n{branch.end} {max(branch.henry, 1e-12)} ic=0")
        if branch.mate > number + 1:
            share = branch.mutual / (branch.henry * circuit.branch[branch.mate - 1].henry) ** 0.5
            lines.append(f"k{number} l{number} l{branch.mate - 1} {share}")
    lines += [f"rg{node} n{node} 0 1e10" for node in range(CLIPS, circuit.nodes)]
    lines.append(".tran 1u 3.01m 0 1u uic")
    lines += [
        f".meas tran v{clip}x{place} FIND v(n{clip}) AT={ms}m"
        for clip in range(CLIPS)
        for place, ms in enumerate(TIMES_MS)
    ]
    return "\n".join([*lines, ".end", ""])


# A tapped winding from end to end; and half of one of eight leads, the far end of its fellow held to ground.
@pytest.mark.parametrize(
    ("kind", "ohm", "high", "lows"), [("unipolar-6", 90.0, 0, (2,)), ("split-8", 20.0, 0, (1, 4))]
)
def test_voltages_rise_and_stand_as_a_circuit_simulator_has_them(
    kind: str, ohm: float, high: int, lows: tuple[int, ...], tmp_path: Path
) -> None:
    simulator = ngspice.program()
    leads = tuple("abcdefgh"[: CATALOGUE[kind].terminals])
    motor = OnClips(Windings(kind, leads, ohm), leads, random.Random(4), time_constant_s=1e-3)
    circuit = motor.circuit(CLIPS)
    deck = tmp_path / "clips.cir"
    deck.write_text(netlist(circuit, high, lows))
    done = subprocess.run([simulator, "-b", str(deck)], capture_output=True, text=True, timeout=60, check=False)
    wanted = {name: float(value) for name, value in re.findall(r"(v\d+x\d+)\s*=\s*([-+0-9.e]+)", done.stdout)}
    assert len(wanted) == CLIPS * len(TIMES_MS), done.stdout[-500:]
    solver = ctypes.CDLL(str(toolchain.bench_library()))
    solver.jig_pass.argtypes = [ctypes.c_void_p, ctypes.c_double]
    circuit.pin[high] = HIGH
    for low in lows:
        circuit.pin[low] = LOW
    passed_ms = 0.0
    for place, ms in enumerate(TIMES_MS):
        solver.jig_pass(ctypes.byref(circuit), (ms - passed_ms) / 1000)
        passed_ms = ms
        for clip in range(CLIPS):
            assert circuit.volt[clip] == pytest.approx(wanted[f"v{clip}x{place}"], abs=0.003), (clip, ms)
