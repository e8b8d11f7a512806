"""A plain way to talk to a board, whatever it is: frames in, frames out, nothing repeated or hidden."""

from __future__ import annotations

from coilbench.board.link.frames import Frame, Value, encode
from coilbench.board.link.link import Link

MOVE = {"steps": 400, "start": 400, "run": 2000, "gain": 20_000}
HELLO_WAIT_S = 3.0  # a boot loader takes up to 2 s


class Talk:
    """One side of a conversation over ``link``, from a reset of the board on.

    Opening a port resets most boards; one that it does not is asked to.
    """

    def __init__(self, link: Link) -> None:
        self.link = link
        self.events: list[Frame] = []
        if self.answer(HELLO_WAIT_S, or_event="hello") is None:
            link.send_line(b"")
            self.number = self.say(b"report").whole("next")
            self.events.clear()
            self.yes("reset")
        self.hello = self.event("hello")
        self.number = self.hello.whole("next")

    def frame(self, verb: str, **fields: Value) -> Frame:
        """The next frame in the count."""
        frame = Frame("ask", self.number, verb, dict(fields))
        self.number = self.number % 65535 + 1
        return frame

    def say(self, line: bytes) -> Frame:
        """Send a line and return what answers it."""
        self.link.send_line(line)
        answer = self.answer()
        assert answer is not None, f"no answer to {line!r}"
        return answer

    def ask(self, verb: str, **fields: Value) -> Frame:
        """Ask with the next number."""
        return self.say(encode(self.frame(verb, **fields)))

    def yes(self, verb: str, **fields: Value) -> dict[str, Value]:
        """Ask and insist on a yes."""
        answer = self.ask(verb, **fields)
        assert (answer.kind, answer.word) == ("yes", verb), answer
        return answer.fields

    def no(self, verb: str, **fields: Value) -> tuple[str, dict[str, Value]]:
        """Ask and insist on a no."""
        answer = self.ask(verb, **fields)
        assert answer.kind == "no", answer
        return answer.word, answer.fields

    def answer(self, wait_s: float = 0.5, *, or_event: str = "") -> Frame | None:
        """The next answer, or event of that word; events are kept."""
        until_s = self.link.now() + wait_s
        while (left_s := until_s - self.link.now()) > 0:
            item = self.link.receive(left_s)
            if isinstance(item, Frame):
                if item.kind != "tell":
                    return item
                self.events.append(item)
                if item.word == or_event:
                    return item
        return None

    def wait(self, wait_s: float) -> None:
        """Let time pass; nothing may be answered that was not asked."""
        assert self.answer(wait_s) is None

    def event(self, word: str, wait_s: float = 1.0) -> Frame:
        """The next event of that word."""
        until_s = self.link.now() + wait_s
        while True:
            for place, event in enumerate(self.events):
                if event.word == word:
                    return self.events.pop(place)
            left_s = until_s - self.link.now()
            assert left_s > 0, f"no {word} event; there were {self.events}"
            item = self.link.receive(left_s)
            if isinstance(item, Frame):
                assert item.kind == "tell", item
                self.events.append(item)

    def end(self, limit_s: float = 30.0) -> Frame:
        """Beat until the motion ends."""
        until_s = self.link.now() + limit_s
        while not any(event.word == "stop" for event in self.events):
            assert self.link.now() < until_s, "the motion does not end"
            self.wait(0.12)
            self.yes("beat")
        return self.event("stop")
