"""The jig's circuit as the harness solves it, against a circuit simulator (ngspice, Debian's package)."""

from __future__ import annotations

import ctypes
import random
import re
import subprocess
from pathlib import Path

import pytest

from coilbench.board.virtual.windings import Windings
from tests.firmware import toolchain
from tests.firmware.jig import Circuit, OnClips
from tests.support import ngspice

CLIPS, HIGH, LOW = 6, 2, 3  # and two of harness/jig.h's pin states
TIMES_MS = (0.2, 0.6, 1.5, 4.0, 12.0)


def netlist(circuit: Circuit) -> str:
    """Clip 1 driven high, clip 3 low, the others inputs; windings without current at first."""
    lines = ["leads on clips", f"vs supply 0 {circuit.supply}"]
    for number in range(CLIPS):
        clip = circuit.clip[number]
        lines.append(f"rb{number} n{number} 0 {clip.bleed}")
        if number == 0:
            lines.append(f"rh n0 supply {clip.series + clip.pin_high}")
        if number == 2:
            lines.append(f"rl n2 0 {clip.series + clip.pin_low}")
    for number in range(circuit.branches):
        branch = circuit.branch[number]
        lines.append(f"r{number} n{branch.start} m{number} {branch.ohm}")
        lines.append(f"l{number} m{number} n{branch.end} {max(branch.henry, 1e-12)} ic=0")
    lines += [f"rg{node} n{node} 0 1e10" for node in range(CLIPS, circuit.nodes)]
    lines.append(".tran 2u 12.01m uic")
    lines += [
        f".meas tran v{clip}x{place} FIND v(n{clip}) AT={ms}m"
        for clip in range(CLIPS)
        for place, ms in enumerate(TIMES_MS)
    ]
    return "\n".join([*lines, ".end", ""])


def test_voltages_rise_and_stand_as_a_circuit_simulator_has_them(tmp_path: Path) -> None:
    simulator = ngspice.program()
    leads = tuple("abcdef")
    motor = OnClips(Windings("unipolar-6", leads, 90.0), leads, random.Random(4), time_constant_s=4e-3)
    circuit = motor.circuit(CLIPS)
    deck = tmp_path / "clips.cir"
    deck.write_text(netlist(circuit))
    done = subprocess.run([simulator, "-b", str(deck)], capture_output=True, text=True, timeout=60, check=False)
    wanted = {name: float(value) for name, value in re.findall(r"(v\d+x\d+)\s*=\s*([-+0-9.e]+)", done.stdout)}
    assert len(wanted) == CLIPS * len(TIMES_MS), done.stdout[-500:]
    solver = ctypes.CDLL(str(toolchain.bench_library()))
    solver.jig_pass.argtypes = [ctypes.c_void_p, ctypes.c_double]
    circuit.pin[0], circuit.pin[2] = HIGH, LOW
    passed_ms = 0.0
    for place, ms in enumerate(TIMES_MS):
        solver.jig_pass(ctypes.byref(circuit), (ms - passed_ms) / 1000)
        passed_ms = ms
        for clip in range(CLIPS):
            close = 0.02 if ms < 4 else 0.004 if ms < 12 else 0.0005  # volt; it lags while the current rises
            assert circuit.volt[clip] == pytest.approx(wanted[f"v{clip}x{place}"], abs=close), (clip, ms)
