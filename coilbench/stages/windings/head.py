"""What stands first while windings are sorted: the reading to take, or what the motor is."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.records.saved.facts import Facts
from coilbench.stages.head import Head
from coilbench.stages.stage import Known
from coilbench.stages.windings.words import FINGERS, Asked
from coilbench.winding.engine.fitness import fitness
from coilbench.winding.engine.verdict import Verdict


def head_of(
    verdict: Verdict, question: Asked | None, known: Sequence[Known], facts: Facts, *, chosen: bool = False
) -> Head:
    """The reading that is asked for, or the result with its doubt; behind it what it rests on. ``chosen``: the person
    chose what is asked."""
    from coilbench.winding.report import warnings

    told = tuple(f"{label}: {text}" if label else text for label, text in known)
    warned = warnings(verdict)
    if question is not None:
        return _asking(verdict, question, warned, told, chosen)
    # What it is stands first, its coils in a table of their own.
    rest = tuple(f"{label}: {text}" for label, text in known if label in ("probes", "readings"))
    return _result(verdict, warned, rest, facts)


def _asking(verdict: Verdict, question: Asked, warned: list[str], told: tuple[str, ...], chosen: bool) -> Head:
    says = question.title if question.probes or question.kind == "probes-together" else question.text
    act = "type what the meter shows, then Enter"
    if question.kind == "frame":
        says, act = "leak to the case? put the probes on", FINGERS
    if question.kind == "meter-range":
        says, act = question.title, "type the top of that range, then Enter"
    # A fault in short: it stands whole under why.
    doubt = fitness(verdict).says or (warned or [_so_far(verdict)])[0]
    if chosen or verdict.readings == 0:
        doubt = question.why
    more = tuple(each for each in (question.why, *warned) if each != doubt)
    return Head(says, leads=question.probes, doubt=doubt, act=act, why=(*more, *told))


def _so_far(verdict: Verdict) -> str:
    from coilbench.winding.drawing.figures import percent
    from coilbench.winding.engine.catalogue import UNKNOWN

    left = "" if verdict.to_go is None else f"about {max(1, round(verdict.to_go))} to go"
    if verdict.readings == 0 or verdict.arrangement == UNKNOWN:
        return left
    sure = "" if verdict.kind_confidence is None else f" ({percent(verdict.kind_confidence)})"
    return ", ".join(filter(None, (f"so far: likely {verdict.arrangement}{sure}", left)))


def _result(verdict: Verdict, warned: list[str], told: tuple[str, ...], facts: Facts) -> Head:
    from coilbench.stages.table import onward
    from coilbench.winding import report
    from coilbench.winding.drawing.figures import percent
    from coilbench.winding.engine.catalogue import CATALOGUE

    fit = fitness(verdict)
    why = (*warned, *report.cannot_tell_sentences(verdict), *report.next_steps(verdict), *told)
    words = CATALOGUE.find(verdict.arrangement).motor
    if not fit.usable:
        return Head(fit.says, "stop", doubt=fit.why or report.what_it_is(verdict), act=fit.remedy, why=why)
    if not report.named(verdict):
        return Head(report.what_it_is(verdict), doubt=(warned or [""])[0], act=report.next_steps(verdict)[0], why=why)
    following = onward("windings", facts).row
    sure = f"{percent(verdict.confidence)} sure"
    doubt = f"{sure}; {fit.says}" if fit.says else sure
    act = "" if following is None else f"F3 goes on to the {following.title}"
    return Head(words, "answer", doubt=doubt, act=act, why=why)
