"""What an analogue reading of a board resolves, by its converter and the samples that are averaged."""

from __future__ import annotations

from coilbench.board.averaging import HELPER_BITS, resolved_bits
from coilbench.board.link.messages import MOST_SAMPLES
from coilbench.stages.axis.fields import AxisField, Texts, read
from coilbench.stages.figures import FiguresAnswer, figure

FIELDS = (
    AxisField("bits", f"of the converter ({HELPER_BITS}, the helper board's)", "count", least=1, most=32),
    AxisField("samples", f"averaged to one reading ({MOST_SAMPLES}, the most it takes)", "count", least=1, most=1e9),
    AxisField("reference", "the converter's full scale, such as 5 V", "volt", least=1e-6),
)


def analogue_answer(kind: str, texts: Texts) -> FiguresAnswer:
    """Bits and steps of a reading; a key of ``texts`` is one of ``FIELDS``. Raises InputProblem."""
    told = read(kind, texts, {kind: FIELDS})
    bits, samples = float(told.get("bits", HELPER_BITS)), float(told.get("samples", MOST_SAMPLES))
    resolved = resolved_bits(bits, samples)
    out = [
        figure("converter_bits", "converter, bits", bits),
        figure("samples", "samples", samples, "", 10),
        figure("bits", "the reading resolves, bits", resolved, "", 4),
        figure("steps", "which are steps", 2**resolved, "", 6),
    ]
    if "reference" in told:
        out.append(figure("step_volt", "one of them", float(told["reference"]) / 2**resolved, "volt"))
    findings = (
        "as long as noise moves the samples by a step or so: without it they are all the same, and tell no more",
        "finer is not truer: offset, gain and reference are off as before",
    )
    return FiguresAnswer(kind, tuple(out), findings if samples > 1 else ())
