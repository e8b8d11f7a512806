"""The tests by hand in words: what to do, what to watch, what to mind."""

from __future__ import annotations

from collections.abc import Callable

from coilbench.errors import InputProblem
from coilbench.winding.order.types import Answer, NextTest, OrderQuestion, OrderTest, Probe, TestKind, Way
from coilbench.winding.order.ways import ANSWERS

ANSWER_WORDS: dict[str, str] = {
    "cw": "clockwise",
    "ccw": "anticlockwise",
    "plus": "kick to plus",
    "minus": "kick to minus",
    "none": "not at all",
    "more": "more than on the first half",
    "less": "less, or next to nothing",
    "same": "about the same",
    "free": "turns freely",
    "holds": "holds, in jerks",
    "drags": "drags, stiffer than with the ring open",
    "unsure": "can't tell",
}

# Common practice at the bench. The first of each is the one that stands alone where there is no room for more.
_KICK = "one hand on the wires, by their insulation: a coil let go of kicks back"
TWITCH_CAUTIONS = (
    "motor off every driver; seconds only",
    "a small battery, in its plus wire a series resistor of at least the coil's own ohms; it and the coil get hot",
    "a supply in place of the battery: turn its current limit down first",
    f"{_KICK}; the other hand off shaft and motor",
)
FREE_CAUTIONS = (
    *TWITCH_CAUTIONS[:3],
    "clip the wires on, then turn with one hand: touch no bare end, a coil let go of kicks back",
)
FLICK_CAUTIONS = (
    "motor off every driver; one 1.5 V cell",
    "for seconds only, nothing stronger than the cell: coil and cell get hot",
    "a half below 5 ohm: a few ohms in series with the cell",
    _KICK,
)
AC_CAUTIONS = (
    "never mains: 2 to 6 V AC, for seconds only",
    "only the low side of a plug-in or bell transformer with a sound case; motor off every driver",
    "the series resistor has at least the coil's own ohms; it, coil and transformer get hot",
    f"{_KICK}, and joined coils add up their volts",
)
DRAG_CAUTIONS = (
    "motor off every driver; never force a gear",
    "a shaft that is turned makes volts: touch no bare end; a gear can crush a finger",
)
_CAUTIONS: dict[TestKind, tuple[str, ...]] = {
    "twitch": TWITCH_CAUTIONS,
    "flick": FLICK_CAUTIONS,
    "induced": AC_CAUTIONS,
    "added": AC_CAUTIONS,
    "free": FREE_CAUTIONS,
    "drag": DRAG_CAUTIONS,
}
WAY_WORDS: dict[Way, str] = {
    "usual": "by flag and meter kick",
    "volts": "by small AC volts",
    "free": "by a shaft that turns freely",
    "drag": "by the drag of a closed ring",
}
_NO_DIRECTION = "; not which way the shaft turns"


def next_test(question: OrderQuestion, probe: Probe) -> NextTest:
    """A test told step by step."""
    steps, why = _STEPS[probe.kind](question, probe)
    answers: tuple[str, ...] = ANSWERS[probe.kind]
    if probe.kind == "induced":
        answers = (*(f"on {lead}" for lead in _others(question, probe.reference)), "unsure")
    touches = _touches(question, probe)
    return NextTest(probe.kind, probe.reference, probe.touched, steps, _CAUTIONS[probe.kind], answers, why, touches)


def _touches(question: OrderQuestion, probe: Probe) -> dict[str, str]:
    """What is on which lead, in a word or two."""
    _, reference, touched = probe
    if probe.kind == "twitch":
        supply = dict(zip(question.ends, question.supply, strict=True))
        return {supply[reference]: "+", supply[touched]: "+", reference: "− first", touched: "− then"}
    if probe.kind == "flick":
        meter = {touched: "meter +", _far(question, touched): "meter −"}
        return {**meter, reference: "cell +", _far(question, reference): "cell −"}
    return {}


def _twitch(question: OrderQuestion, probe: Probe) -> tuple[tuple[str, ...], str]:
    _, reference, touched = probe
    supply = dict(zip(question.ends, question.supply, strict=True))
    plus = supply[reference]
    if supply[touched] != plus:
        plus = f"{plus} and {supply[touched]} together"
    steps = (
        "stick a flag of tape on the shaft",
        f"plus, through the series resistor, on {plus}",
        f"minus on {reference}, and hold it there",
        f"touch minus on {touched} as well",
        "which way did the flag twitch, seen from the shaft's end?",
    )
    if question.phases:
        return steps, "tells which way the shaft turns"
    return steps, "tells which ends share a phase, and the direction"


def _flick(question: OrderQuestion, probe: Probe) -> tuple[tuple[str, ...], str]:
    _, reference, touched = probe
    steps = (
        f"meter on the DC millivolt range: plus probe on {touched}, minus probe on {_far(question, touched)}",
        f"cell's minus on {_far(question, reference)}",
        f"touch the cell's plus on {reference}",
        "which way does the meter kick the moment the cell connects? (ignore the kick when it goes)",
    )
    return steps, "tells whether these halves share a phase, and in which sense"


def _induced(question: OrderQuestion, probe: Probe) -> tuple[tuple[str, ...], str]:
    reference, others = probe.reference, _others(question, probe.reference)
    if question.halves:
        far = _far(question, reference)
        where = "; ".join(f"{lead} to {_far(question, lead)}" for lead in others)
        where = f"meter on AC volts, in turn over {where}"
        why = "tells which halves share a phase"
    else:
        far = question.supply[0]
        where = f"meter on AC volts, in turn from {far} to {', '.join(others)}"
        why = "tells which ends share a phase"
    steps = (
        f"2 to 6 V AC, through the series resistor, on {reference} and {far}",
        where,
        "where does the meter show most?",
    )
    return steps, why + _NO_DIRECTION


def _added(question: OrderQuestion, probe: Probe) -> tuple[tuple[str, ...], str]:
    _, reference, touched = probe
    far, last = _far(question, reference), _far(question, touched)
    steps = (
        f"join {far} with {touched}",
        f"2 to 6 V AC, through the series resistor, on {reference} and {far}",
        f"meter on AC volts: read {reference} to {far}, then {reference} to {last}",
        f"how much is {reference} to {last} beside the first?",
    )
    return steps, "tells whether these halves share a phase, and in which sense" + _NO_DIRECTION


def _free(question: OrderQuestion, probe: Probe) -> tuple[tuple[str, ...], str]:
    _, reference, touched = probe
    if question.halves:
        wires = (
            f"join {_far(question, reference)} with {touched}",
            f"plus, through the series resistor, on {reference}; minus on {_far(question, touched)}",
        )
        why = "tells whether these halves share a phase, and in which sense"
    else:
        common = question.supply[0]
        wires = (
            f"plus, through the series resistor, on {common}",
            f"minus on {reference} and {touched} together",
        )
        why = "tells whether these ends share a phase"
    steps = (
        "first turn the shaft by hand with nothing on: so it feels when it is free",
        *wires,
        "turn it again, gently: does it hold, or turn as freely as before?",
    )
    return steps, why + _NO_DIRECTION


def _drag(question: OrderQuestion, probe: Probe) -> tuple[tuple[str, ...], str]:
    _, reference, touched = probe
    steps = (
        f"join {_far(question, reference)} with {touched}; turn the shaft briskly by hand",
        f"join {reference} with {_far(question, touched)}, too: a closed ring",
        "turn it again as briskly: does it drag now, or turn as freely as before?",
    )
    why = "tells whether these halves work against each other; weak in tin cans and through gears"
    return steps, why + _NO_DIRECTION


_STEPS: dict[TestKind, Callable[[OrderQuestion, Probe], tuple[tuple[str, ...], str]]] = {
    "twitch": _twitch,
    "flick": _flick,
    "induced": _induced,
    "added": _added,
    "free": _free,
    "drag": _drag,
}


def _far(question: OrderQuestion, lead: str) -> str:
    """The other end of a half."""
    return next(b if a == lead else a for a, b in question.halves if lead in (a, b))


def _others(question: OrderQuestion, reference: str) -> tuple[str, ...]:
    """The leads of the other halves: of eight leads, the first of each."""
    if question.halves:
        return tuple(half[0] for half in question.halves if reference not in half)
    return tuple(end for end in question.ends if end != reference)


_WORDS: dict[str, Answer] = {
    **dict.fromkeys(("none", "no", "n", "0", "not at all", "nothing", "still"), "none"),
    **dict.fromkeys(("unsure", "?", "can't tell", "cannot tell", "skip", "s", "u"), "unsure"),
    **dict.fromkeys(("cw", "c", "clockwise", "right"), "cw"),
    **dict.fromkeys(("ccw", "a", "anticlockwise", "counterclockwise", "left"), "ccw"),
    **dict.fromkeys(("plus", "+", "p", "positive", "up"), "plus"),
    **dict.fromkeys(("minus", "-", "m", "negative", "down"), "minus"),
    **dict.fromkeys(("more",), "more"),
    **dict.fromkeys(("less",), "less"),
    **dict.fromkeys(("same",), "same"),
    **dict.fromkeys(("free", "freely", "f"), "free"),
    **dict.fromkeys(("holds", "hold", "h"), "holds"),
    **dict.fromkeys(("drags", "drag", "d"), "drags"),
}


def answered(test: NextTest, text: str) -> OrderTest:
    """The test with its answer, as people type it: a word, or the number the answer has on the screen.

    Raises InputProblem naming what was expected.
    """
    word = " ".join(text.split())
    if word in [str(number) for number in range(1, len(test.answers) + 1)]:
        word = test.answers[int(word) - 1]
    if test.kind == "induced" and word != test.answers[-1]:
        on = next((each for each in test.answers[:-1] if word in (each, each.removeprefix("on "))), None)
        if on is not None:
            return OrderTest(test.kind, test.reference, on.removeprefix("on "), "most")
    answer: str = _WORDS.get(word.lower(), word.lower())
    if answer in test.answers:
        # Without an answer no lead was found: any of them stands in the record.
        touched = test.touched or test.answers[0].removeprefix("on ")
        return OrderTest(test.kind, test.reference, touched, answer)  # type: ignore[arg-type]
    *most, last = test.answers
    expected = f"{', '.join(most)} or {last}, or its number"
    raise InputProblem(f"{text.strip()[:40]!r} is no answer to this test, expected {expected}")
