"""Asking for one reading at a time: JSON lines for programs, plain lines for people and screen readers."""

from __future__ import annotations

from coilbench.cli.dialogue import put_json, read_line, say
from coilbench.cli.windings_session import Session
from coilbench.cli.windings_show import show_drawing, show_verdict
from coilbench.errors import InputProblem
from coilbench.quantity import OPEN, parse_quantity, parse_reading
from coilbench.winding.engine.report import ask_object, ask_sentence, named, result_object, warnings, what_it_is
from coilbench.winding.engine.verdict import Ask
from coilbench.winding.readings.leads import lead_colour, parse_leads
from coilbench.winding.readings.reading import FRAME, PROBES
from coilbench.winding.readings.repeats import overruled

_OPENS_IN_A_ROW = 3
CAUTION = "caution: motor off every driver and supply while you measure; capacitors in scrapped supplies stay charged"
_HELP = """\
a reading        12.3   12R3   1k2   0.8 ohm   OL or open
skip             leave this pair out
pick A B         measure another pair of your choice (or A frame)
undo             take back the last reading
list             the readings so far by number, and all that is known
change 2 12.3    give reading 2 another value
remove 2         take reading 2 back
quit             stop here"""


def ask_in_json(session: Session, *, order: bool) -> int:
    """JSON lines: ask, read, until the motor is named and proved; ends with the result."""
    while (ask := session.verdict.ask) is not None and not session.full:
        put_json({"ask": ask_object(ask)})
        line = read_line()
        if line is None:
            session.finish()
            put_json({"result": result_object(session.verdict)})
            return 3
        if line.lower() == "skip":
            session.skip(ask.a, ask.b)
            continue
        try:
            ohm = parse_reading(line)
        except InputProblem:
            continue  # asked again
        session.add(ask, ohm)
    if order:
        from coilbench.cli.order_dialogue import order_in_json

        return order_in_json(session)
    session.finish()
    put_json({"result": result_object(session.verdict)})
    return 0 if named(session.verdict) else 3


def ask_in_words(session: Session, *, order: bool, ascii_only: bool) -> int:
    """The same for people; everything the screen can do with readings."""
    say(CAUTION, ascii_only=ascii_only)
    say("Type help for what can be typed.", ascii_only=ascii_only)
    talk = _Talk(session, ascii_only)
    while (ask := talk.asked()) is not None and not session.full:
        talk.prompt(ask)
        line = read_line(echo=True)
        if line is None or line.lower() in ("quit", "q", "exit"):
            say(ascii_only=ascii_only)
            session.finish()
            show_verdict(session.verdict, readings=session.readings, ascii_only=ascii_only)
            return 3 if line is None or not named(session.verdict) else 0
        talk.answer(ask, line)
    if order:
        from coilbench.cli.order_dialogue import order_in_words

        return order_in_words(session, ascii_only=ascii_only)
    session.finish()
    say(ascii_only=ascii_only)
    show_verdict(session.verdict, readings=session.readings, ascii_only=ascii_only)
    return 0 if named(session.verdict) else 3


def ask_leads() -> tuple[str, ...] | None:
    """The leads, asked for until they can be read; None at the end of the input."""
    while True:
        print("leads (colours, or how many)> ", end="", flush=True)
        line = read_line()
        if line is None:
            return None
        try:
            return parse_leads(line)
        except InputProblem as problem:
            say(str(problem))


class _Talk:
    """What is being asked, and what the typed line does."""

    def __init__(self, session: Session, ascii_only: bool) -> None:
        self.session = session
        self.ascii_only = ascii_only
        self.picked: Ask | None = None
        self.range_asked = False

    def say(self, text: str = "") -> None:
        say(text, ascii_only=self.ascii_only)

    def asked(self) -> Ask | None:
        return self.picked or self.session.verdict.ask

    def prompt(self, ask: Ask) -> None:
        self.say()
        if ask.kind in ("pair", "frame"):
            where = " and ".join(_lead_words(lead) for lead in (ask.a, ask.b))
            self.say(f"Put the probes on {where}")
        else:
            self.say(f"{ask_sentence(ask)[0].upper()}{ask_sentence(ask)[1:]}")
        self.say(f"  {ask.why}")
        if ask.kind == "frame":
            self.say("  fingers off both probe tips; scrape the paint away for bare metal")
        print("reading> ", end="", flush=True)

    def answer(self, ask: Ask, line: str) -> None:
        word, _, rest = line.partition(" ")
        word = word.lower()
        if not line:
            self.say("type a reading such as 12.3 or OL, or help")
        elif word in ("help", "h", "?"):
            for each in _HELP.splitlines():
                self.say(each)
        elif word in ("skip", "s"):
            self.picked = None
            self.session.skip(ask.a, ask.b)
        elif word in ("undo", "u"):
            self.undo()
        elif word in ("list", "l"):
            self.list()
        elif word in ("pick", "p"):
            self.pick(rest)
        elif word == "change":
            self.change(rest)
        elif word == "remove":
            self.remove(rest)
        else:
            self.reading(ask, line)

    def reading(self, ask: Ask, line: str) -> None:
        try:
            ohm = parse_reading(line)
        except InputProblem as problem:
            self.say(f"{problem}")
            return
        self.picked = None
        self.session.add(ask, ohm)
        if self.all_open() and not self.range_asked and self.session.range_ohm is None:
            self.ask_range()
        self.progress()

    def ask_range(self) -> None:
        """Nothing but open readings: a coil above a hand-set range reads open too, so ask for the range, once."""
        self.range_asked = True
        self.say("Nothing but open so far. Is the meter on a hand-set range?")
        self.say("  its top, such as 200 or 2k; auto if it finds its own")
        while True:
            print("range> ", end="", flush=True)
            line = read_line(echo=True)
            if line is None or line.lower() in ("", "auto", "a", "no", "skip"):
                return
            try:
                self.session.set_range(parse_quantity(line, "ohm", bare=True))
                return
            except InputProblem as problem:
                self.say(f"{problem}")

    def all_open(self) -> bool:
        between = [reading for reading in self.session.readings if FRAME not in (reading.a, reading.b)]
        return len(between) >= _OPENS_IN_A_ROW and all(reading.ohm == OPEN for reading in between)

    def progress(self) -> None:
        verdict = self.session.verdict
        show_drawing(verdict, readings=self.session.readings, ascii_only=self.ascii_only)
        for warning in warnings(verdict):
            self.say(f"! {warning}")
        togo = f" About {max(1, round(verdict.to_go))} to go." if verdict.to_go and verdict.ask is not None else ""
        self.say(what_it_is(verdict) + togo)

    def undo(self) -> None:
        self.picked = None
        if not self.session.readings:
            self.say("nothing to take back")
            return
        self.remove(str(len(self.session.readings)))

    def remove(self, number: str) -> None:
        index = self.place(number)
        if index is None:
            return
        gone = self.session.remove(index)
        self.say(f"taken back: {gone.a} to {gone.b}, {_ohm_text(gone.ohm)}")
        show_drawing(self.session.verdict, readings=self.session.readings, ascii_only=self.ascii_only)

    def change(self, rest: str) -> None:
        number, _, value = rest.partition(" ")
        index = self.place(number)
        if index is None:
            return
        try:
            self.session.change(index, parse_reading(value))
        except InputProblem as problem:
            self.say(f"{problem}")
            return
        self.progress()

    def place(self, number: str) -> int | None:
        """The place in the list for a reading's number, from 1 as shown."""
        count = len(self.session.readings)
        if number.isdecimal() and 1 <= int(number) <= count:
            return int(number) - 1
        self.say(f"no reading {number!r}: there are {count}, list shows them by number")
        return None

    def list(self) -> None:
        gone = overruled(self.session.readings)
        for number, reading in enumerate(self.session.readings, 1):
            remark = "  (overruled by another of this pair)" if gone[number - 1] else ""
            self.say(f"{number:3}  {reading.a} to {reading.b}  {_ohm_text(reading.ohm)}{remark}")
        if not self.session.readings:
            self.say("no readings yet")
            return
        show_verdict(self.session.verdict, readings=self.session.readings, ascii_only=self.ascii_only)

    def pick(self, rest: str) -> None:
        names = (*self.session.leads, FRAME, PROBES)
        pair = _two_names(rest, names)
        if pair is None:
            self.say(f"pick takes two of: {', '.join(names)}")
            return
        a, b = pair
        if (a == b) != (a == PROBES) or (PROBES in pair and a != b):
            self.say(f"{a} and {b} can't be measured against each other: pick two different leads")
            return
        kind = "probes-together" if a == PROBES else "frame" if FRAME in pair else "pair"
        if kind == "frame" and a == FRAME:
            a, b = b, a
        self.picked = Ask(a, b, "picked by you", kind)  # type: ignore[arg-type]


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


def _lead_words(lead: str) -> str:
    if lead == FRAME:
        return "bare metal of the frame"
    colour = lead_colour(lead)
    if colour is None or not colour.word or colour.word.lower() == lead.lower():
        return lead
    return f"{lead} ({colour.word})"


def _ohm_text(ohm: float) -> str:
    return "open" if ohm == OPEN else f"{ohm:g} ohm"
