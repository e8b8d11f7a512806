"""What can be done with motors as a whole, and why not where it can't be now."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """The motor under the cursor, the marked ones, those that are archived; how many there are in all; whether the
    bin can be written to; whether there is something to take back or to do again."""

    chosen: str | None = None
    marked: tuple[str, ...] = ()
    archived: frozenset[str] = frozenset()
    motors: int = 0
    read_only: bool = False
    undo: bool = False
    redo: bool = False

    @property
    def targets(self) -> tuple[str, ...]:
        """What an act is for: the marked motors, without any the one under the cursor."""
        return self.marked or ((self.chosen,) if self.chosen is not None else ())

    @property
    def pair(self) -> tuple[str, str] | None:
        """The two that are compared or merged, the one that stays first: two marked ones, or a marked one and the one
        under the cursor."""
        if len(self.marked) == 2:
            first, second = self.marked
            return (second, first) if self.chosen == second else (first, second)
        if len(self.marked) == 1 and self.chosen not in (None, self.marked[0]):
            return (str(self.chosen), self.marked[0])
        return None

    @property
    def all_archived(self) -> bool:
        """Whether archiving would take them out of it again."""
        return bool(self.targets) and self.archived.issuperset(self.targets)


def why_not(act: str, choice: Choice) -> str:
    """Why an act makes no sense now; empty where it does. Acts that are always there are none of these."""
    if act in _WRITE and choice.read_only:
        return "the bin may only be read"
    return next((reason for holds, reason in _NEEDS.get(act, ()) if not holds(choice)), "")


_WRITE = {"add", "delete", "note", "archive", "merge", "split", "undo", "redo"}
_A_MOTOR: tuple[Callable[[Choice], bool], str] = (lambda choice: bool(choice.targets), "no motor is chosen")
_ONE: tuple[Callable[[Choice], bool], str] = (lambda choice: choice.chosen is not None, "no motor is chosen")
_TWO: tuple[Callable[[Choice], bool], str] = (lambda choice: choice.pair is not None, "mark two motors (space)")
_ANY: tuple[Callable[[Choice], bool], str] = (lambda choice: choice.motors > 0, "there is no motor yet")
_SEVERAL: tuple[Callable[[Choice], bool], str] = (lambda choice: choice.motors > 1, "there are no two motors yet")
_NEEDS: dict[str, tuple[tuple[Callable[[Choice], bool], str], ...]] = {
    "open": (_ONE,),
    "delete": (_A_MOTOR,),
    "mark": (_ONE,),
    "unmark": ((lambda choice: bool(choice.marked), "none is marked"),),
    "note": (_ONE,),
    "archive": (_A_MOTOR,),
    "archived": ((lambda choice: bool(choice.archived), "none is archived"),),
    "alike": (_SEVERAL,),
    "compare": (_TWO,),
    "merge": (_TWO,),
    "split": (_ONE,),
    "cards": (_A_MOTOR,),
    "table": (_ANY,),
    "undo": ((lambda choice: choice.undo, "nothing was done to motors as a whole"),),
    "redo": ((lambda choice: choice.redo, "nothing was taken back"),),
}
