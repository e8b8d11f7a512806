"""Where a jog stands, and the scene that shows it: plain data, no screen and no board."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

from coilbench.ui.stages.jog_bench import Scene
from coilbench.ui.stages.jog_setup import KIND_TITLES, moves_to_go

if TYPE_CHECKING:
    from coilbench.motion.search import Finished, SearchState, SearchSummary
    from coilbench.motion.trials import Outcome, Trial
    from coilbench.records.rows import SavedEvent

Stand = Literal["board", "wire", "turning", "turned", "choose", "search"]

TURN_ANSWERS = (
    (1, "yes, clockwise"),
    (2, "yes, counter-clockwise"),
    (3, "hummed or jerked"),
    (4, "stood still"),
    (5, "not a whole turn"),
)
TURNED = {1: "clockwise", 2: "counter-clockwise", 3: "hummed", 4: "nothing", 5: "part"}
FLAG_ANSWERS = (
    (0, "back on its mark"),
    (1, "off by 1 jump"),
    (2, "off by 2 jumps"),
    (3, "off by 3 jumps"),
    (4, "off, not counted"),
    (5, "can't tell"),
)
WAYS = {"moving": "out", "resting": "a short rest", "returning": "coming back, slowly", "easing": "slowing down"}
PROVING_ROUND = 10  # clean trials after which a proving run rests
KIND_ANSWERS = tuple(enumerate(KIND_TITLES.values(), 1))
KINDS = tuple(KIND_TITLES)


@dataclass
class Flow:
    """The present state of one motor's jog."""

    stand: Stand = "board"
    moving: bool = False
    way: str = ""  # what the board says it does
    pause: str = ""  # why the next move waits for a word
    begun: Mapping[str, Any] | None = None  # the event that began the search
    begun_id: int = 0
    state: SearchState | None = None
    next: Trial | Finished | None = None
    found: SearchSummary | None = None
    asked: Trial | None = None  # made, and waiting for its answer
    flag: Outcome | None = None  # what the virtual shaft would answer
    turned_steps: float | None = None
    proving: bool = False  # the working figure is tried again and again

    @property
    def trial(self) -> Trial | None:
        """The move that comes next, while the search goes on."""
        from coilbench.motion.search import Finished, proving_trial

        if self.proving and self.state is not None and self.found is not None and self.found.working_sps is not None:
            return proving_trial(self.state.plan, self.found.working_sps)
        return None if self.next is None or isinstance(self.next, Finished) else self.next

    @property
    def kind(self) -> str:
        """Which search is under way."""
        return str(self.begun["plan"]["question"]) if self.begun is not None else ""

    def forget_search(self) -> None:
        """No search is under way."""
        self.begun, self.state, self.next, self.found, self.asked, self.flag = None, None, None, None, None, None
        self.pause, self.proving = "", False


def turn_remedy(seen: str) -> str:
    """What to look at when the slow turn went wrong; empty when it went well."""
    from coilbench.motion.before import SLOW_TURN_SEEN

    return next((each.remedy for each in SLOW_TURN_SEEN if each.key == seen), "")


def search_begun(events: Sequence[SavedEvent]) -> SavedEvent | None:
    """The event that began the search under way, if one is."""
    begun: SavedEvent | None = None
    for each in events:
        if each.value.get("kind") == "begin":
            begun = each
        elif each.value.get("kind") == "end":
            begun = None
    return begun


def answers_since(events: Sequence[SavedEvent], begun_id: int) -> list[SavedEvent]:
    """The saved trials of the search that began with event ``begun_id``."""
    return [each for each in events if each.id > begun_id and each.value.get("kind") == "trial"]


def scene_of(flow: Flow, virtual: bool) -> Scene:
    """What to show."""
    if flow.stand == "turning":
        return Scene("one slow turn", says=f"Watch the flag: once round, smoothly. {flow.way}", moving=True)
    if flow.stand == "turned":
        return Scene(
            "did it turn once, smoothly?",
            says="Which way, seen from the shaft's end?",
            answers=TURN_ANSWERS,
            meter=virtual and flow.turned_steps is not None,
        )
    if flow.stand == "choose":
        return Scene(
            "what to find?",
            says=flow.pause or "Start with the fastest start: the others build on it.",
            answers=KIND_ANSWERS,
        )
    return _search_scene(flow, virtual)


def _search_scene(flow: Flow, virtual: bool) -> Scene:
    if flow.state is None or flow.found is None or flow.begun is None:
        return Scene("working it out")
    plan, found, title = flow.state.plan, flow.found, KIND_TITLES[flow.kind]
    told = [(trial.tested, outcome.skipped) for trial, outcome in flow.state.answers]
    shown = flow.asked or flow.trial
    if shown is None:
        figure = found.working_sps
        return Scene(
            f"{title}: found",
            figure,
            f"{found.unit}, working figure" if figure is not None else "",
            "\n".join(found.said),
            choose=True,
            prove=figure is not None,
            count=f"moves {found.moves}",
            told=told,
            found=found,
        )
    if flow.proving:
        title = f"{title}: proving run"
    to_go = moves_to_go(found, plan)
    seconds = to_go * (shown.duration_s + plan.answer_s)
    minutes = f", {max(1, round(seconds / 60))} min"
    turns = "" if plan.question == "acceleration" else f", {shown.tested / plan.shaft.steps_per_turn:.2g} turns/s"
    scene = Scene(
        title,
        shown.tested,
        f"full {found.unit}{turns}",
        count=f"proved {found.proved} times, {PROVING_ROUND} a round"
        if flow.proving
        else f"moves {found.moves}, about {to_go} to go{minutes}",
        told=told,
        present=shown.tested,
        found=found if told else None,
    )
    if flow.moving:
        return _with(scene, says=flow.way or "out fast, back slowly", moving=True)
    if flow.asked is not None:
        return _with(
            scene,
            title="did the flag come back to its mark?",
            says=f"One jump is 4 full steps, {plan.shaft.jump_degree:.3g}°. After 0 the next move starts at once.",
            answers=FLAG_ANSWERS,
            meter=virtual and flow.flag is not None,
        )
    return _with(scene, says=flow.pause, go="go: next move (g)", choose=True)


def _with(scene: Scene, **changes: Any) -> Scene:
    from dataclasses import replace

    return replace(scene, **changes)
