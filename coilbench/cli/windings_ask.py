"""Asking for one reading at a time: JSON lines for programs, plain lines for people and screen readers."""

from __future__ import annotations

from coilbench.cautions import CHARGED
from coilbench.cli.dialogue import put_json, read_line, say
from coilbench.cli.windings_meter import LinesAndReadings
from coilbench.cli.windings_show import print_page, print_wiring
from coilbench.errors import CoilbenchError, InputProblem
from coilbench.stages.leads import lead_short, leads_in
from coilbench.stages.windings.bench_meter import MeterAtWork, shown_ohm
from coilbench.stages.windings.stage import WindingsStage
from coilbench.stages.windings.words import CAUTION, Asked

_HOW_MEASURED = ("Enter has the meter measure once its reading rests; what is typed counts, too.",)
_HOW_BY_ITSELF = (
    "Put the probes on: a reading is taken once it rests. Lift them before the next.",
    "Where nothing is connected, hold them on and press Enter: open is not taken by itself.",
)
_HELP = """\
a reading        12.3   12R3   1k2   0.8 ohm   OL or open
skip             leave this pair out
pick A B         measure another pair of your choice (or A case)
undo, redo       take back what was done last, or do it again
list             the readings so far by number, and all that is known
change 2 12.3    give reading 2 another value
remove 2         take reading 2 back
quit             stop here"""


def ask_in_json(stage: WindingsStage, *, order: bool, way: str | None, meter: MeterAtWork | None = None) -> int:
    """JSON lines: ask, read, until the motor is named and proved; ends with the result. ``measure`` has the meter
    on its port answer, or ``{"problem": ...}`` says why it doesn't."""
    state = stage.work_out()
    while state.ask is not None and not state.full:
        put_json({"ask": stage.asked_value()})
        line = read_line()
        if line is None:
            stage.finish()
            put_json({"result": stage.result()})
            return 3
        if line.lower() == "skip":
            stage.skip()
        elif line.lower() == "measure" and meter is not None:
            try:
                stage.measure(meter.settled, meter.accuracy)
            except CoilbenchError as problem:
                put_json({"problem": str(problem)})
                continue
        else:
            try:
                stage.enter(line)
            except InputProblem:
                continue  # asked again
        state = stage.work_out()
    if order:
        from coilbench.cli.order_dialogue import order_in_json

        return order_in_json(stage, way)
    stage.finish()
    put_json({"result": stage.result()})
    return 0 if state.named else 3


def ask_in_words(
    stage: WindingsStage,
    *,
    order: bool,
    way: str | None,
    ascii_only: bool,
    meter: MeterAtWork | None = None,
    by_itself: bool = False,
) -> int:
    """The same for people; everything the screen can do with readings. A meter on a port answers by Enter, or
    ``by_itself`` once it rests."""
    say(f"caution: {CAUTION} while you measure; {CHARGED}", ascii_only=ascii_only)
    say("Type help for what can be typed.", ascii_only=ascii_only)
    if meter is not None:
        for each in _HOW_MEASURED if not by_itself else _HOW_BY_ITSELF:
            say(each, ascii_only=ascii_only)
    talk = _Talk(stage, ascii_only, meter)
    both = LinesAndReadings(meter) if meter is not None and by_itself else None
    line: str | float | None = ""
    while (ask := talk.state.ask) is not None and not talk.state.full:
        talk.prompt(ask)
        line = read_line(echo=True) if both is None else both.next(ask)
        if line is None or (isinstance(line, str) and line.lower() in ("quit", "q", "exit")):
            order = False
            break
        talk.answer(ask, line) if isinstance(line, str) else talk.take(line)
    if order:
        from coilbench.cli.order_dialogue import order_in_words

        return order_in_words(stage, way, ascii_only=ascii_only)
    stage.finish()
    say(ascii_only=ascii_only)
    print_page(stage.page(ascii=ascii_only), ascii_only=ascii_only)
    return 0 if line is not None and talk.state.named else 3


def ask_leads() -> tuple[str, ...] | None:
    """The leads, asked for until they can be read; None at the end of the input."""
    while True:
        print("leads (colours, or how many)> ", end="", flush=True)
        line = read_line()
        if line is None:
            return None
        try:
            return leads_in(line)
        except InputProblem as problem:
            say(str(problem))


class _Talk:
    """What a typed line does."""

    def __init__(self, stage: WindingsStage, ascii_only: bool, meter: MeterAtWork | None = None) -> None:
        self.stage = stage
        self.meter = meter
        self.ascii_only = ascii_only
        self.state = stage.work_out()

    def say(self, text: str = "") -> None:
        say(text, ascii_only=self.ascii_only)

    def prompt(self, ask: Asked) -> None:
        self.say()
        self.say(ask.sentence)
        self.say(f"  {ask.why}")
        if ask.caution:
            self.say(f"  {ask.caution}")
        print("range> " if ask.kind == "meter-range" else "reading> ", end="", flush=True)

    def answer(self, ask: Asked, line: str) -> None:
        word, _, rest = line.partition(" ")
        word = word.lower()
        acts = {"undo": self.undo, "u": self.undo, "redo": self.redo, "list": self.list, "l": self.list}
        with_text = {"pick": self.pick, "p": self.pick, "change": self.change, "remove": self.remove}
        if word in ("help", "h", "?"):
            for each in _HELP.splitlines():
                self.say(each)
        elif word in ("skip", "s"):
            self.stage.skip()
            self.state = self.stage.work_out()
        elif word in acts:
            acts[word]()
        elif word in with_text:
            with_text[word](rest)
        elif not line and self.meter is not None:
            self.measure(self.meter, ask)
        elif not line and ask.kind != "meter-range":
            self.say("type a reading such as 12.3 or OL, or help")
        else:
            self.enter(line)

    def measure(self, meter: MeterAtWork, ask: Asked) -> None:
        """Have the meter on its port answer; where it can't, say why, and it can still be typed."""
        try:
            ohm = meter.settled(ask.a, ask.b)
        except CoilbenchError as problem:
            self.say(f"{problem}")
            return
        self.take(ohm)

    def take(self, ohm: float) -> None:
        """Take what the meter on its port says, and say how things stand."""
        assert self.meter is not None
        self.say(shown_ohm(ohm))
        self.stage.measure(lambda a, b: ohm, self.meter.accuracy)
        self.progress()

    def enter(self, text: str) -> bool:
        """Take it, and say how things stand; a text that is no reading is said to be none."""
        try:
            self.stage.enter(text)
        except InputProblem as problem:
            self.say(f"{problem}")
            return False
        self.progress()
        return True

    def progress(self) -> None:
        self.state = self.stage.work_out()
        print_wiring(self.state.wiring, ascii_only=self.ascii_only)
        for line in self.state.progress:
            self.say(line)

    def undo(self) -> None:
        self.stepped(self.stage.undo(), "taken back", "nothing to take back")

    def redo(self) -> None:
        self.stepped(self.stage.redo(), "done again", "nothing to do again")

    def stepped(self, what: str | None, done: str, otherwise: str) -> None:
        self.say(otherwise if what is None else f"{done}: {what}")
        if what is not None:
            self.progress()

    def remove(self, number: str) -> None:
        reading_id = self.reading_id(number)
        if reading_id is not None:
            self.stage.remove(reading_id)
            self.progress()

    def change(self, rest: str) -> None:
        number, _, value = rest.partition(" ")
        reading_id = self.reading_id(number)
        if reading_id is not None:
            self.stage.correct(reading_id)
            if not self.enter(value):
                self.stage.skip()

    def reading_id(self, number: str) -> int | None:
        """A reading by its number in the list."""
        found = [row.id for row in self.state.rows if str(row.number) == number]
        if not found:
            self.say(f"no reading {number!r}: there are {len(self.state.rows)}, list shows them by number")
        return found[0] if found else None

    def list(self) -> None:
        for row in self.state.rows:
            remark = f"  ({row.remark})" if row.remark else ""
            self.say(f"{row.number:3}  {row.a} to {row.b}  {row.ohms}{remark}")
        if not self.state.rows:
            self.say("no readings yet")
            return
        print_page(self.stage.page(ascii=self.ascii_only), ascii_only=self.ascii_only)

    def pick(self, rest: str) -> None:
        names = tuple(dict.fromkeys(place.name for first in (None, "") for place in self.stage.places(first)))
        shown = {lead_short(name): name for name in names}
        pair = _two_names(rest, (*names, *shown))
        if pair is None:
            self.say(f"pick takes two of: {', '.join(shown)}")
            return
        try:
            self.stage.pick(*(shown.get(name, name) for name in pair))
        except InputProblem as problem:
            self.say(str(problem))
            return
        self.state = self.stage.state


def _two_names(text: str, names: tuple[str, ...]) -> tuple[str, str] | None:
    """Two names out of a line, as written or, where that is one name alone, in other letter case."""
    text = " ".join(text.replace(",", " ").split())
    for first in sorted(names, key=len, reverse=True):
        if text.lower().startswith(first.lower()):
            rest = text[len(first) :].strip().lower()
            seconds = [name for name in names if name.lower() == rest]
            if len(seconds) == 1:
                return first, seconds[0]
            if rest in names:
                return first, rest
    return None
