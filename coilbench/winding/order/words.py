"""The tests by hand in words: what to do, what to watch, what to mind."""

from __future__ import annotations

from coilbench.errors import InputProblem
from coilbench.winding.order.types import Answer, NextTest, OrderQuestion, TestKind

TWITCH_ANSWERS: tuple[Answer, ...] = ("cw", "ccw", "none", "unsure")
FLICK_ANSWERS: tuple[Answer, ...] = ("plus", "minus", "none", "unsure")

ANSWER_WORDS: dict[Answer, str] = {
    "cw": "clockwise",
    "ccw": "anticlockwise",
    "plus": "kick to plus",
    "minus": "kick to minus",
    "none": "not at all",
    "unsure": "can't tell",
}

# Common practice at the bench.
TWITCH_CAUTIONS = (
    "motor off every driver; use a small battery, or a supply with its current limit turned down",
    "put a series resistor of at least the coil's own ohms in the plus wire",
    "seconds only: coil and resistor get hot",
    "one hand on the wires, by their insulation: a coil let go of kicks back; the other hand off shaft and motor",
)
FLICK_CAUTIONS = (
    "motor off every driver; one 1.5 V cell and nothing stronger",
    "a half below 5 ohm: a few ohms in series with the cell",
    "touch for a second only: coil and cell get hot",
    "one hand, wires held by their insulation: a coil let go of kicks back",
)


def next_twitch(question: OrderQuestion, reference: str, touched: str) -> NextTest:
    """The twitch test of two ends, told step by step."""
    supply = dict(zip(question.ends, question.supply, strict=True))
    plus = supply[reference]
    if supply[touched] != plus:
        plus = f"{plus} and {supply[touched]} together"
    why = "tells which ends share a phase, and the direction"
    if question.phases:
        why = "tells which way the shaft turns"
    return NextTest(
        kind="twitch",
        reference=reference,
        touched=touched,
        steps=(
            "stick a flag of tape on the shaft",
            f"plus, through the series resistor, on {plus}",
            f"minus on {reference}, and hold it there",
            f"touch minus on {touched} as well",
            "which way did the flag twitch, seen from the shaft's end?",
        ),
        cautions=TWITCH_CAUTIONS,
        answers=TWITCH_ANSWERS,
        why=why,
    )


def next_flick(question: OrderQuestion, reference: str, touched: str) -> NextTest:
    """The flick test of two halves, told step by step."""
    other = {half[0]: half[1] for half in question.halves}
    return NextTest(
        kind="flick",
        reference=reference,
        touched=touched,
        steps=(
            f"meter on the DC millivolt range: plus probe on {touched}, minus probe on {other[touched]}",
            f"cell's minus on {other[reference]}",
            f"touch the cell's plus on {reference}",
            "which way does the meter kick the moment the cell connects? (ignore the kick when it goes)",
        ),
        cautions=FLICK_CAUTIONS,
        answers=FLICK_ANSWERS,
        why="tells whether these halves share a phase, and in which sense",
    )


_SHARED_WORDS: dict[str, Answer] = {
    **dict.fromkeys(("none", "no", "n", "0", "not at all", "nothing", "still"), "none"),
    **dict.fromkeys(("unsure", "?", "can't tell", "cannot tell", "skip", "s", "u"), "unsure"),
}
_TWITCH_WORDS: dict[str, Answer] = {
    **_SHARED_WORDS,
    **dict.fromkeys(("cw", "c", "clockwise", "right"), "cw"),
    **dict.fromkeys(("ccw", "a", "anticlockwise", "counterclockwise", "left"), "ccw"),
}
_FLICK_WORDS: dict[str, Answer] = {
    **_SHARED_WORDS,
    **dict.fromkeys(("plus", "+", "p", "positive", "up"), "plus"),
    **dict.fromkeys(("minus", "-", "m", "negative", "down"), "minus"),
}


def parse_answer(text: str, kind: TestKind) -> Answer:
    """An answer as people type it; raises InputProblem naming what was expected."""
    word = " ".join(text.lower().split())
    table = _FLICK_WORDS if kind == "flick" else _TWITCH_WORDS
    if word in table:
        return table[word]
    expected = "plus, minus, none or unsure" if kind == "flick" else "cw, ccw, none or unsure"
    raise InputProblem(f"{text.strip()[:40]!r} is no answer to this test, expected {expected}")
