"""What ``coilbench jog`` sets out to find, and the plan of each search."""

from __future__ import annotations

import argparse
import math
from dataclasses import replace

from coilbench.errors import InputProblem
from coilbench.motion.search import SearchPlan
from coilbench.motion.search_order import CAREFUL_SPS, Known, plan_search
from coilbench.motion.search_plan import Searched
from coilbench.motion.trials import Shaft

SEARCHES: tuple[Searched, ...] = ("start", "run", "acceleration")
TURN = "turn"  # the steps of a turn, counted by the sensor


def questions_of(text: str) -> list[str]:
    """What to find, in the order in which each builds on the one before. Raises InputProblem."""
    known = (TURN, *SEARCHES)
    asked = [word.strip() for word in text.split(",") if word.strip()]
    for word in asked:
        if word not in known:
            raise InputProblem(f"--find {word}: expected {', '.join(known)}")
    if not asked:
        raise InputProblem(f"--find: expected one or more of {', '.join(known)}")
    return sorted(set(asked), key=known.index)


def searches_of(questions: list[str], start_known: bool) -> list[Searched]:
    """The searches to make, in order: what builds on a start that isn't known has that found first."""
    needed = {*questions} | ({"start"} if not start_known and {"run", "acceleration"} & {*questions} else set())
    return [search for search in SEARCHES if search in needed]


def plan_of(
    args: argparse.Namespace, question: Searched, first: bool, shaft: Shaft, highest_sps: float, known: Known
) -> SearchPlan:
    """The plan of a search, from what is known and the ones before it found.

    ``first``: it is the first thing asked for, which the range given is of. Raises InputProblem for what can't be.
    """
    return plan_search(
        question,
        shaft,
        known,
        acceleration_sps2=args.acceleration,
        highest_sps=highest_sps,
        lowest=args.lowest if first else None,
        highest=args.highest if first else None,
        width=args.width / 100,
        most_moves=args.moves,
    )


def check_range(args: argparse.Namespace, questions: list[str], shaft: Shaft, known: Known) -> None:
    """Raise InputProblem when the first thing asked for can't be sought in the range given."""
    for question in [search for search in SEARCHES if search in questions][:1]:
        plan_of(args, question, True, shaft, math.inf, replace(known, start_sps=known.start_sps or CAREFUL_SPS))
