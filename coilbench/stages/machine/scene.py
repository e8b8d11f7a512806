"""A machine as it stands on a screen: what stands first, a row an axis, and why."""

from __future__ import annotations

from coilbench.stages.figures import FiguresAnswer
from coilbench.stages.head import Head
from coilbench.stages.machine.answer import FitAnswer
from coilbench.stages.machine.axis_fit import AxisFit
from coilbench.stages.machine.sheet import peak_and_setting

HEADS = ("axis", "motor", "set", "margin", "steps/s", "good for")
_MOST_WARNINGS = 1
_MOST_NAMED = 2
# The figures of an axis in the order in which one wants them first.
_FIRST = ("total_newton_metre", "raise_newton_metre", "torque_newton_metre", "rate_sps", "holds_itself")  # fmt: skip


def head_of(answer: FitAnswer) -> Head:
    """Whether the bin builds the machine, how far that is to be trusted, what to do now."""
    bases = {each.basis for each in answer.axes if each.there}
    doubt = (
        "proved by trials" if bases == {"trial"}
        else "by the model: nine in ten real motors pull 0.55 to 1.35 times that"
        if "trial" not in bases
        else "in part by trials, the rest by the model (0.55 to 1.35 times that)"
    )  # fmt: skip
    over = [*answer.short_of, *_overloaded(answer)]
    first = next((each for each in answer.changes), None)
    if first is not None:
        act = f"{first.axis}: {first.act}"
    elif over:
        act = over[0]
    else:
        act = "s makes the sheet to wire from; Enter changes the axis chosen"
    short = [each for each in answer.axes if not each.fits]
    many = f"{len(short)} of {len(answer.axes)} axes have no motor yet that does"
    says = many if len(short) > _MOST_NAMED else answer.verdict
    return Head(says, "question" if short else "answer", doubt=doubt, act=act)


def _overloaded(answer: FitAnswer) -> list[str]:
    names = [repr(rail.supply.name) for rail in answer.budgets if rail.within is False]
    return [f"{' and '.join(names)} can't give all of it: look at the supplies below"] if names else []


def rows_of(answer: FitAnswer) -> list[tuple[str, ...]]:
    """A row an axis, under ``HEADS``; a motor that has too little margin is marked."""
    return [_row(each) for each in answer.axes]


def _row(fit: AxisFit) -> tuple[str, ...]:
    if not fit.there:
        return (fit.axis.name, "none", "", "! 0", "", "")
    rate, good = fit.there[0].worth.asked.rate_sps, fit.good_for_sps
    return (
        fit.axis.name,
        " + ".join(fit.names),
        peak_and_setting(fit),
        ("" if fit.fits else "! ") + fit.cells[-1],
        f"{rate:.0f}",
        "" if good is None else f"{float(f'{good:.2g}'):.0f}",
    )


def told_of(answer: FitAnswer, name: str) -> list[str]:
    """What matters of one axis: what is there and would have to change, then what is to be warned of."""
    fit = next(each for each in answer.axes if each.axis.name == name)
    if fit.there:
        offer = fit.there[0].offer
        lines = [
            f"{name}: {' + '.join(fit.names)} {offer.connection} on {fit.axis.driver.name}, {fit.axis.supply.name}",
            f"needs {fit.cells[5]}, pulls {fit.cells[6]}; {fit.rates_text}",
        ]
    else:
        lines = [f"{name}: no motor of the bin can be there yet"]
    lines += [f"→ {each.text}" for each in answer.changes if each.axis == name]
    return lines + [f"! {each}" for each in fit.warnings]


def supplies_of(answer: FitAnswer) -> list[str]:
    """Each branch with its fuse and wire, and what each supply gives in all."""
    lines = []
    for rail in answer.budgets:
        most = rail.supply.most_ampere
        can = "" if most is None else f" of {most:g} A"
        over = "! " if rail.within is False else ""
        lines.append(f"{over}{rail.supply.name}: {rail.worst_ampere:.2g} A at most{can}")
        lines += [f"· {axis}: {worst}; fuse {fuse}; {wire}" for axis, _, worst, fuse, wire in
                  (each.cells for each in rail.branches)]  # fmt: skip
    return lines


def why_of(answer: FitAnswer, name: str) -> tuple[str, ...]:
    """What the answer rests on, and what else there is to say of the axis, the supplies, the whole."""
    fit = next(each for each in answer.axes if each.axis.name == name)
    figures = (f"{each.label}: {each.shown}" for each in fit.figures.figures)
    left = (f"{name} is left out: {why}" for name, why in answer.left_out)
    rails = (f"{rail.supply.name}: {line}" for rail in answer.budgets for line in rail.findings)
    findings = (each for each in fit.findings if each != fit.rates_text)  # which is told already
    return (*findings, *answer.short_of, *rails, *answer.notes, *left, *figures)


BARE_HEADS = ("axis", "kind", "travel", "torque", "steps/s")


def bare_row(name: str, kind: str, answer: FiguresAnswer | None) -> tuple[str, ...]:
    """A row under ``BARE_HEADS``, of an axis for which no motor is looked for yet; None: it can't be read."""
    shown = {} if answer is None else {each.key: each.shown for each in answer.figures}
    steps = "".join(f"{shown[key]} {words}" for key, words in _STEPS.items() if key in shown)
    torque = next((shown[key] for key in _TORQUE if key in shown), "")
    return (name, kind, steps, torque, shown.get("rate_sps", ""))


_STEPS = {"steps_per_mm": "steps/mm", "steps_per_degree": "steps/deg"}
_TORQUE = ("total_newton_metre", "raise_newton_metre", "torque_newton_metre")


def axis_head(answer: FiguresAnswer) -> Head:
    """An axis by itself: its steps a unit of travel, the torque at the motor, the rate, then what to beware of."""
    figures = {each.key: each for each in answer.figures}
    said = [f"{figures[key].label} {figures[key].shown}" for key in _FIRST if key in figures]
    unit, steps = next((words, figures[key].shown) for key, words in _STEPS.items() if key in figures)
    return Head(
        said[0],
        "answer",
        figure=f"{steps} {unit}",
        doubt="; ".join(said[1:]),
        act="".join(f"! {each}" for each in answer.warnings[:_MOST_WARNINGS]),
        why=axis_why(answer),
    )


def axis_why(answer: FiguresAnswer) -> tuple[str, ...]:
    """The rest of an axis: warnings, findings, every figure."""
    figures = (f"{each.label}: {each.shown}" for each in answer.figures)
    return (*(f"! {each}" for each in answer.warnings[_MOST_WARNINGS:]), *answer.findings, *figures)
