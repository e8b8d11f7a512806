"""What stands first at the phase order: what is asked of the shaft, or the order."""

from __future__ import annotations

from coilbench.records.saved.facts import Facts
from coilbench.stages.fitness import fitness_of
from coilbench.stages.head import Head
from coilbench.stages.order.scene import OrderState


def head_of(state: OrderState, facts: Facts) -> Head:
    """The question of the test at work, or what is known without one; behind it what the tests tell."""
    from coilbench.stages.table import onward

    told = tuple(f"{label}: {text}" for label, text in state.known)
    test = state.test
    if test is not None:
        doubt = next((f"{each.text} by {_count(state)}" for each in state.known if each.label == "sure"), "")
        why = (f"this {test.why}", *state.doubts, *(f"caution: {each}" for each in test.cautions[1:]), *told)
        return Head(test.asks, doubt=doubt, act="make the test, then press the number of what you saw", why=why)
    following = onward("order", facts).row
    act = "" if following is None else f"F3 goes on to the {following.title}"
    if not fitness_of(facts).usable:
        return Head(state.title, "stop", doubt=state.text, why=told)
    if state.done:
        known = dict(state.known)
        doubt = f"{known['sure']} by {_count(state)}" if "sure" in known else ""
        says = f"{state.title}: {known.get('sequence', '')}"
        return Head(says, "answer", doubt=doubt, act=act, why=(*state.text.split("\n\n"), *told))
    return Head(state.title, "answer", act=act, why=told)


def _count(state: OrderState) -> str:
    count = dict(state.known).get("tests", "none")
    return f"{count} test{'s' * (count != '1')}"
