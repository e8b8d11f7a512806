"""What a figure that a jog found is worth: what it was found with, and what a load would leave of it."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.records.saved.jog import FoundWith, SavedSwing
from coilbench.stages.jog.found_with import found_with_words
from coilbench.stages.jog.swings import measured_load_ratio, rotor_of


def worth_lines(
    question: str, working: float | None, found_with: FoundWith | None, swings: Sequence[SavedSwing] = ()
) -> tuple[str, ...]:
    """Lines to stand under a working figure; none where there is no figure, or nobody said what it was found with.

    ``swings`` were measured on the same drive.
    """
    if working is None or found_with is None:
        return ()
    lines = [f"found with: {found_with_words(found_with)}; it goes stale when one of these changes"]
    if found_with.on_shaft == "bare":
        lines += _bare_lines(question, working, found_with, swings)
    lines.append("the trade asks of a motor half to two thirds of its pull-out torque at the speed, no more")
    return tuple(lines)


def _bare_lines(question: str, working: float, found_with: FoundWith, swings: Sequence[SavedSwing]) -> list[str]:
    from coilbench.motion.load import PLANNED_SHARE, loaded_start_sps

    rotor, load = rotor_of(swings, found_with), found_with.load_inertia_kilogram_metre2
    if not load and (ratio := measured_load_ratio(swings, found_with)):
        rotor, load = 1.0, ratio  # only their ratio counts
    torque, holding = found_with.load_newton_metre, found_with.holding_newton_metre
    if rotor is None or not (load or torque):
        wanted = "load J or load M" if rotor else "rotor J, load J and load M"
        return [f"nothing to set a machine by: a load takes from it. Enter {wanted} for an estimate with the load on"]
    if question == "acceleration":
        times = 1 + (load or 0.0) / rotor
        return [f"with the load on at most about {working / times:.3g} steps/s2 (1 / (1 + JL/J0)): find it again so"]
    if question == "run":
        return ["with the load on it slews no faster, and speeds up slower: find both rates again so"]
    low, high = (
        loaded_start_sps(working, rotor, load or 0.0, torque or 0.0, holding, each) for each in PLANNED_SHARE
    )
    if not torque or holding is None:
        missing = "; load M is left out, holding torque isn't known" if torque else ""
        return [
            f"with the load on at most about {low:.3g} steps/s (f0 / sqrt(1 + JL/J0){missing}), an estimate: "
            "find it again so"
        ]
    if not low:
        return [
            "with the load on it hardly starts: load M takes half of the holding torque or more, and a start has no "
            "more than half to two thirds of it"
        ]
    return [
        f"with the load on about {low:.3g} to {high:.3g} steps/s (f0 / sqrt(1 + JL/J0), and the torque left of half "
        "to two thirds of holding), an estimate: begin at the lower one and find it again so"
    ]
