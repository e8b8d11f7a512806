"""Where a jog stands, and the scene that shows it: plain data, no screen and no board."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, cast

from coilbench.ui.panes.jog.bench import Scene
from coilbench.ui.panes.jog.scan import ANSWER_S, SCAN, ScanFound, ScanState, judge_scan, scan_plan
from coilbench.ui.panes.jog.setup import KIND_TITLES, Setting, make_plan

if TYPE_CHECKING:
    from coilbench.board.session.jog import TurnEnd
    from coilbench.motion.search import Finished, SearchState, SearchSummary
    from coilbench.motion.search_plan import Searched
    from coilbench.motion.trials import Outcome, Trial
    from coilbench.records.rows import SavedEvent

Stand = Literal["board", "wire", "turning", "turned", "choose", "search"]

TURN_ANSWERS = (
    (1, "yes, clockwise"),
    (2, "yes, anticlockwise"),
    (3, "hummed or jerked"),
    (4, "stood still"),
    (5, "not a whole turn"),
)
TURNED = {1: "clockwise", 2: "anticlockwise", 3: "hummed", 4: "nothing", 5: "part"}
FLAG_ANSWERS = (
    (0, "back on its mark"),
    (1, "off by 1 jump"),
    (2, "off by 2 jumps"),
    (3, "off by 3 jumps"),
    (4, "off, jumps not counted"),
    (5, "can't tell"),
)
WAYS = {
    "moving": "out",
    "resting": "a short rest",
    "returning": "coming back, slowly",
    "easing": "slowing down",
    "cooling": "a rest: the coils have been on long",
}
TURN_SLACK, HUMMED_TURNS = 0.01, 0.1  # of a virtual flag
PROVING_ROUND = 10  # clean trials after which a proving run rests
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
    state: SearchState | ScanState | None = None
    next: Trial | Finished | None = None
    found: SearchSummary | ScanFound | None = None
    asked: Trial | None = None  # made, and waiting for its answer
    flag: Outcome | None = None  # what the virtual shaft would answer
    turn: TurnEnd | None = None  # how the slow turn went
    counting: bool = False  # a sensor counts its steps
    proving: bool = False  # the working figure is tried again and again

    @property
    def trial(self) -> Trial | None:
        """The move that comes next, while the search goes on."""
        from coilbench.motion.search import Finished, proving_trial

        working = self.found.working_sps if self.found is not None else None
        if self.proving and working is not None and self.state is not None and not isinstance(self.state, ScanState):
            return proving_trial(self.state.plan, working)
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


def turn_seen(turn: TurnEnd) -> int:
    """The answer a virtual flag gives: as many turns as it made, or, if far fewer, that it hummed."""
    assert turn.turns is not None
    if turn.counted is None and abs(abs(turn.turns) - 1) > TURN_SLACK:
        return 5 if abs(turn.turns) > HUMMED_TURNS else 3
    return 1 if turn.turns > 0 else 2


def saved_words(fact: Mapping[str, Any] | None) -> list[tuple[str, str]]:
    """What is saved, as names and texts; each drive by itself, the last one used first."""
    from coilbench.board.session.figures import all_figures, drive_of

    words: list[tuple[str, str]] = []
    drives = all_figures(fact)
    for each in drives:
        if len(drives) > 1 or drive_of(each).by_coils:
            words.append(("drive", drive_of(each).words))
        for name, key, question in (
            ("starts", "start_rate_sps", "start"),
            ("runs", "run_rate_sps", "run"),
            ("speeds up", "acceleration_sps2", "acceleration"),
        ):
            if each.get(key):
                times = (each.get("proved") or {}).get(question)
                proved = f", proved {_times(times)}" if times else ""
                words.append((name, f"{each[key]:.0f} steps/s{'²' * (key[-1] == '2')}{proved}"))
        if each.get("resonance_sps"):
            words.append(("resonance", ", ".join(f"{rate:.0f}" for rate in each["resonance_sps"]) + " steps/s"))
    return words


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def search_begun(events: Sequence[SavedEvent]) -> SavedEvent | None:
    """The event that began the search under way, if one is."""
    begun: SavedEvent | None = None
    for each in events:
        if each.value.get("kind") == "begin":
            begun = each
        elif each.value.get("kind") == "end":
            begun = None
    return begun


def search_left(
    events: Sequence[SavedEvent], kind: str, setting: Setting | None = None
) -> tuple[SavedEvent, SavedEvent] | None:
    """The last search of this kind and its end, where it was left before it had a result; else None.

    With a ``setting``: only one of this drive and shaft.
    """
    begun: SavedEvent | None = None
    left: tuple[SavedEvent, SavedEvent] | None = None
    for each in events:
        if each.value.get("kind") == "begin":
            asked = each.value["plan"]["question"] == kind and (setting is None or goes_on(each.value, setting))
            begun, left = (each, None) if asked else (None, left)
        elif each.value.get("kind") == "end" and begun is not None:
            left, begun = (begun, each) if each.value.get("so_far") else left, None
    return left


def left_words(events: Sequence[SavedEvent]) -> list[tuple[str, str]]:
    """What searches say that were left before they had a result, as names and texts."""
    left = [(title, search_left(events, kind)) for kind, title in KIND_TITLES.items()]
    return [(title.split()[-1], f"{each[1].value['so_far']} (rough)") for title, each in left if each is not None]


def is_result(flow: Flow) -> bool:
    """Whether what was found may be kept as the motor's: the search ended, or its interval is narrow."""
    from coilbench.motion.to_go import is_rough

    if flow.found is None or isinstance(flow.found, ScanFound):
        return flow.found is not None and flow.found.done
    return flow.trial is None or flow.proving or not is_rough(flow.found)


def so_far(flow: Flow) -> dict[str, str]:
    """What a search that is left without a result says so far; nothing where there is none, or a result."""
    found = flow.found
    if found is None or is_result(flow) or not found.moves:
        return {}
    if isinstance(found, ScanFound):
        return {"so_far": f"{found.moves} made, {found.to_go} to go"}
    low, high = found.interval_sps
    return {"so_far": f"{low:.0f} to {high:.0f} {found.unit}"}


def kept_words(flow: Flow) -> str:
    """What is kept of a search that is being left."""
    if flow.found is None or not flow.found.moves:
        return ""
    title, moves = KIND_TITLES[flow.kind], f"{flow.found.moves} move{'s' * (flow.found.moves != 1)}"
    rough = so_far(flow).get("so_far")
    if rough:
        return f"{title}, so far: {rough}. Too rough for a result; its {moves} are kept, choose it again to go on."
    figure = flow.found.working_sps
    return f"{title}: {figure:.0f} {flow.found.unit} is kept, from {moves}." if figure else ""


def answers_since(events: Sequence[SavedEvent], begun_id: int, end_id: float = math.inf) -> list[SavedEvent]:
    """The saved trials of the search that began with event ``begun_id``, and ended with ``end_id``."""
    return [each for each in events if begun_id < each.id < end_id and each.value.get("kind") == "trial"]


def begin_event(
    kind: str, setting: Setting, highest_sps: float, facts: Mapping[str, Mapping[str, Any]]
) -> dict[str, Any]:
    """The event that begins a search, with its plan. Raises InputProblem, NotEnoughKnown for one that can't be."""
    from coilbench.board.session.figures import figures_of

    known, ratings = figures_of(facts.get("jog"), setting.drive), facts.get("ratings")
    if kind == SCAN:
        plan = scan_plan(setting, highest_sps, known, ratings)
    else:
        plan = make_plan(cast("Searched", kind), setting, highest_sps, known, ratings).as_dict()
    return {"kind": "begin", "plan": plan, "drive": setting.drive.as_dict()}


def goes_on(begun: Mapping[str, Any], setting: Setting) -> bool:
    """Whether the search under way is of this drive and shaft; who watches may change."""
    from dataclasses import asdict

    from coilbench.board.session.figures import drive_of

    now, then = asdict(setting.shaft), dict(begun["plan"]["shaft"])
    same_shaft = all(now[name] == then.get(name, now[name]) for name in ("steps_per_turn", "gear", "flag_on"))
    return same_shaft and drive_of(begun) == setting.drive


def judge(begun: Mapping[str, Any], saved: Sequence[Mapping[str, Any]]) -> tuple[object, ...]:
    """State, what comes next, and finding after the saved answers; takes a moment. Raises InputProblem."""
    from coilbench.motion.search import SearchPlan, next_trial, replay, summary

    if begun["plan"]["question"] == SCAN:
        return judge_scan(begun["plan"], saved)
    state = replay(SearchPlan.from_dict(begun["plan"]), saved)
    return state, next_trial(state), summary(state)


def finding(flow: Flow, known: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """The motor's saved result with what the search found so far; None while that is nothing."""
    from coilbench.board.session.figures import drive_of, figures_of, with_bands, with_figures, with_search

    found, state = flow.found, flow.state
    if found is None or state is None or flow.begun is None:
        return None
    drive = drive_of(flow.begun)
    figures = figures_of(known, drive)
    if isinstance(found, ScanFound):
        if not found.done:
            return None
        figures = with_bands(figures, found.bands)
    elif found.working_sps is None or isinstance(state, ScanState):
        return None
    else:
        figures = with_search(figures, found, state.plan.acceleration_sps2)
    shaft = flow.begun["plan"]["shaft"]
    figures["shaft"] = {name: shaft[name] for name in ("steps_per_turn", "gear", "flag_on") if name in shaft}
    return with_figures(known, drive, figures)


def scene_of(flow: Flow, virtual: bool, known: Mapping[str, Any] | None = None) -> Scene:
    """What to show; ``known`` is what is saved of the motor on this drive."""
    if flow.stand == "turning":
        seen = "round and round; the sensor counts" if flow.counting else "once round, smoothly"
        says = flow.way if flow.way == WAYS["cooling"] else f"Watch the flag: {seen}."
        return Scene("one slow turn", says=says, moving=True)
    if flow.stand == "turned":
        return _turned_scene(flow, virtual)
    if flow.stand == "choose":
        return _choose_scene(flow, known or {})
    return _search_scene(flow, virtual)


def _choose_scene(flow: Flow, known: Mapping[str, Any]) -> Scene:
    says = "Start with the fastest start: the others build on it."
    if known.get("start_rate_sps"):
        says = (
            "Start and run are found; look again, or for more."
            if known.get("run_rate_sps")
            else "Next, the fastest run."
        )
    answers = [
        (digit, f"{KIND_TITLES[kind]}{_found_words(kind, known)}") for digit, kind in enumerate(KIND_TITLES, 1)
    ]
    return Scene("what to find?", says=flow.pause or says, answers=tuple(answers))


def _found_words(kind: str, known: Mapping[str, Any]) -> str:
    if kind == "resonance":
        return (
            ": " + ", ".join(f"{rate:.0f}" for rate in known["resonance_sps"]) if known.get("resonance_sps") else ""
        )
    found = known.get({"start": "start_rate_sps", "run": "run_rate_sps"}.get(kind, ""))
    return f": {found:.0f}" if found else ""


def _turned_scene(flow: Flow, virtual: bool) -> Scene:
    turn, asked = flow.turn, "Which way, seen from the shaft's end?"
    meter = virtual and turn is not None and turn.turns is not None
    if turn is not None and (turn.counted is not None or turn.uncounted):
        told = (
            f"The sensor counted {turn.counted.steps_per_turn:.5g} steps a turn." if turn.counted else turn.uncounted
        )
        return Scene("did it turn smoothly?", says=f"{told}\n{asked}", answers=TURN_ANSWERS[:4], meter=meter)
    return Scene("did it turn once, smoothly?", says=asked, answers=TURN_ANSWERS, meter=meter)


def _search_scene(flow: Flow, virtual: bool) -> Scene:
    if flow.state is None or flow.found is None or flow.begun is None:
        return Scene("working it out")
    plan, found, title = flow.state.plan, flow.found, KIND_TITLES[flow.kind]
    told = [(trial.tested, outcome.skipped) for trial, outcome in flow.state.answers]
    curve = None if isinstance(found, ScanFound) or not {True, False} <= {skipped for _, skipped in told} else found
    shown = flow.asked or flow.trial
    if shown is None:
        figure = found.working_sps
        return Scene(
            f"{title}: {'done' if isinstance(found, ScanFound) else 'found'}",
            figure,
            f"{found.unit}, working figure" if figure is not None else "",
            "\n".join(found.said),
            choose=True,
            prove=figure is not None,
            count=f"moves {found.moves}",
            told=told,
            found=curve,
        )
    if flow.proving:
        title = f"{title}: proving run"
    from coilbench.motion.to_go import moves_to_go

    to_go, answer_s = 1, ANSWER_S
    if isinstance(found, ScanFound):
        to_go = found.to_go
    elif not isinstance(flow.state, ScanState):
        to_go, answer_s = moves_to_go(found, flow.state.plan), flow.state.plan.answer_s
    seconds = to_go * (shown.duration_s + answer_s)
    minutes = f", {max(1, round(seconds / 60))} min"
    turns = "" if flow.kind == "acceleration" else f", {shown.tested / plan.shaft.steps_per_turn:.2g} turns/s"
    scene = Scene(
        title,
        shown.tested,
        f"full {found.unit}{turns}{_missed_words(flow)}",
        count=f"proved {_times(found.proved)}, in rounds of {PROVING_ROUND}"
        if flow.proving
        else f"moves {found.moves}, about {to_go} to go{minutes}{_guess_words(found, told, curve)}",
        told=told,
        present=shown.tested,
        found=curve,
    )
    if flow.moving:
        return _with(scene, says=f"{flow.way or 'out fast, back slowly'}{_why_words(flow)}", moving=True)
    if flow.asked is not None:
        return _with(
            scene,
            title="did the flag come back to its mark?",
            says=f"One jump is 4 full steps, {plan.shaft.jump_degree:.3g}°. After 0 the next move starts at once.",
            answers=FLAG_ANSWERS,
            meter=virtual and flow.flag is not None,
        )
    return _with(scene, says=f"{flow.pause}{_why_words(flow)}", go="go: next move (g)", choose=True)


def _why_words(flow: Flow) -> str:
    from coilbench.motion.search import SearchState, why_so_fast

    if not isinstance(flow.state, SearchState) or flow.trial is None:
        return ""
    why = why_so_fast(flow.state, flow.trial)
    return f"\n{why}" if why else ""


def _guess_words(
    found: SearchSummary | ScanFound, told: Sequence[tuple[float, bool | None]], curve: SearchSummary | None
) -> str:
    """How far what is drawn may be trusted; empty where it may."""
    from coilbench.motion.to_go import is_rough

    if curve is None:
        return "" if isinstance(found, ScanFound) or not told else "\nthe curve wants a ✓ and a ✗"
    return "\na guess yet: between these lines" if is_rough(curve) else ""


def _missed_words(flow: Flow) -> str:
    """What the sensor counted between its edges in the last move, where there is a sensor."""
    answers = flow.state.answers if flow.state is not None else ()
    if not answers or answers[-1][1].missed_steps is None:
        return ""
    trial, outcome = answers[-1]
    return f"\nlast, {trial.tested:.0f}: {abs(outcome.missed_steps or 0):.0f} steps lost"


def _with(scene: Scene, **changes: Any) -> Scene:
    from dataclasses import replace

    return replace(scene, **changes)
