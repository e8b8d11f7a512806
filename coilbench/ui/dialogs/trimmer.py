"""The trimmer, live: the voltage large, the needle in its band, which way to turn."""

from __future__ import annotations

import threading
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.message import Message
from textual.widgets import Button, Digits, Static

from coilbench.errors import CoilbenchError, InputProblem
from coilbench.stages.at_bench import note
from coilbench.stages.driver.answer import DriverAnswer
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.driver.trimmer import PLAIN, WIRING, WORDS, LiveTrimmer, Needle
from coilbench.stages.driver.trimmer_board import TrimmerBoard
from coilbench.ui.bench import bench_of
from coilbench.ui.faults import own_fault
from coilbench.ui.steady import Dialog
from coilbench.ui.widgets.field import Field
from coilbench.ui.widgets.needle import NeedleView

if TYPE_CHECKING:
    from textual.binding import BindingType

_PAUSE_S = 0.02  # between two readings, for whatever else wants the processor
_TURN = 0.02  # of the target, at each key of the demo's trimmer


class MeterField(Field):
    """What the person's own meter shows."""

    help_title = "my meter says"
    help_text = (
        "With your meter on the same pin, type what it shows and Enter: the board's own scale is set by it, once, "
        "and the board keeps it, over resets and unplugged."
    )


class TrimmerDialog(Dialog[None]):
    """Reads ten times a second in a worker until it is closed."""

    DEFAULT_CSS = """
    TrimmerDialog #trimmer-box { width: 74; max-width: 100%; }
    TrimmerDialog #trimmer-figure { height: 3; }
    TrimmerDialog #trimmer-volt { width: 18; }
    TrimmerDialog #trimmer-now { width: 1fr; height: 3; text-style: bold; }
    TrimmerDialog #trimmer-now.-hold { color: $primary; }
    TrimmerDialog #trimmer-now.-slip, TrimmerDialog #trimmer-now.-over { color: $text-error; }
    TrimmerDialog #trimmer-says { height: 1; }
    TrimmerDialog #trimmer-accuracy { height: 1; }
    TrimmerDialog #trimmer-row { height: 1; }
    TrimmerDialog #trimmer-label { width: 15; }
    TrimmerDialog #trimmer-meter { width: 16; }
    TrimmerDialog #trimmer-wiring { height: auto; margin: 1 0 0 0; }
    TrimmerDialog.-short #trimmer-wiring { max-height: 3; margin: 0; }
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        ("escape", "close", "close"),
        ("plus", "turn(1)", "turn up"),
        ("minus", "turn(-1)", "turn down"),
        ("m", "by_itself", "by itself"),
        ("z", "slip", "slip"),
    ]

    class Moved(Message):
        """A reading came."""

        def __init__(self, needle: Needle) -> None:
            super().__init__()
            self.needle = needle

    class Told(Message):
        """What came of a meter's reading; ``volt``: what the board takes its reference for by it."""

        def __init__(self, says: str, volt: float | None = None) -> None:
            super().__init__()
            self.says, self.volt = says, volt

    class Ended(Message):
        """The board can't be read any more."""

        def __init__(self, problem: CoilbenchError) -> None:
            super().__init__()
            self.problem = problem

    def __init__(self, stage: DriverStage, answer: DriverAnswer, url: str) -> None:
        super().__init__()
        self._stage = stage
        self._trimmer = LiveTrimmer(answer)
        self._board = TrimmerBoard(url)
        self._stop = threading.Event()
        self._texts: SimpleQueue[str] = SimpleQueue()  # what the meter shows, for the worker
        self._by_itself = False
        self._needle: Needle | None = None
        self._chip = answer.chip

    def compose(self) -> ComposeResult:
        with Vertical(classes="dialog-box", id="trimmer-box"):
            yield Static(f"the trimmer of the {self._chip}, live", classes="dialog-title", markup=False)
            with Horizontal(id="trimmer-figure"):
                yield Digits("-.---", id="trimmer-volt")
                yield Static("opening the board\n", id="trimmer-now", markup=False)
            yield NeedleView(id="trimmer-needle")
            yield Static("", id="trimmer-says", markup=False)
            yield Static("", id="trimmer-accuracy", classes="field-note", markup=False)
            with Horizontal(id="trimmer-row"):
                yield Static("my meter says", id="trimmer-label", markup=False)
                yield MeterField(id="trimmer-meter", compact=True, placeholder="e.g. 0.412")
            with VerticalScroll(id="trimmer-wiring"):
                yield Static(self._wiring(), classes="field-note", markup=False)
            yield Static(f"caution: {self._stage.CAUTION}", id="trimmer-caution", classes="field-note", markup=False)
            with Horizontal(classes="dialog-buttons"):
                if self._board.is_virtual:
                    yield Button("down (-)", id="trimmer-down", compact=True)
                    yield Button("up (+)", id="trimmer-up", compact=True)
                    yield Button("by itself (m)", id="trimmer-itself", compact=True)
                yield Button("close (esc)", id="trimmer-close", variant="primary", compact=True)

    def _wiring(self) -> str:
        lines = [f"{line.format(pin=self._board.pin)}." for line in WIRING]
        if self._trimmer.needs_motor_supply:
            lines.append("This chip makes its reference from the motor supply: switch that on.")
        return "\n".join(lines)

    def on_mount(self) -> None:
        self.query_one("#trimmer-close").focus()
        self._follow()

    def on_unmount(self) -> None:
        self._stop.set()

    @work(thread=True, exit_on_error=False)
    def _follow(self) -> None:
        try:
            self._board.open(self._trimmer)
            while not self._stop.wait(_PAUSE_S):
                needle = self._trimmer.feed(self._board.read())
                self._take_texts()
                self.post_message(self.Moved(needle))
                if self._by_itself:
                    self._board.turn_virtual(needle, self._trimmer)
        except CoilbenchError as problem:
            self.post_message(self.Ended(problem))
        except Exception as fault:  # a fault of ours must not take the bench down
            self.post_message(self.Ended(own_fault(fault)))
        finally:
            self._board.close()

    def _take_texts(self) -> None:
        try:
            says = self._board.rescale(self._trimmer, self._texts.get_nowait())
            self.post_message(self.Told(says, self._board.bandgap_volt))
        except Empty:
            pass
        except InputProblem as problem:
            self.post_message(self.Told(str(problem)))

    @on(Moved)
    def moved(self, event: Moved) -> None:
        """Only what differs is drawn, and nothing changes its size."""
        event.stop()
        needle, before = event.needle, self._needle
        self._needle = needle
        if before is None and not self._board.is_virtual:
            bench_of(self.app).tell(note(self._stage.desk, self._board.own))
        if needle.rings:
            self.app.bell()
        plain = bench_of(self.app).plain_characters
        low, high = self._trimmer.band_volt
        ends = ("0", f"{low:.3f} to {high:.3f} V", f"{2 * self._trimmer.target_volt:.3g}")
        self.query_one(NeedleView).show(needle.place, needle.band, ends, ascii=plain)
        if before is None or f"{before.volt:.3f}" != f"{needle.volt:.3f}":
            self.query_one("#trimmer-volt", Digits).update(f"{needle.volt:.3f}")
        word = (PLAIN if plain else WORDS)[needle.turn].upper()
        self._put("now", f"V means {needle.shown[1]}\n{word}")
        self._put("says", needle.says)
        self._put("accuracy", self._trimmer.accuracy(needle))
        for turn in PLAIN:
            self.query_one("#trimmer-now").set_class(needle.turn == turn, f"-{turn}")

    def _put(self, name: str, text: str) -> None:
        line = self.query_one(f"#trimmer-{name}", Static)
        if str(line.content) != text:
            line.update(text, layout=False)

    @on(Ended)
    def ended(self, event: Ended) -> None:
        event.stop()
        self.dismiss(None)
        bench_of(self.app).show_problem(event.problem)

    @on(Field.Submitted)
    def calibrate(self, event: Field.Submitted) -> None:
        event.stop()
        self._texts.put(event.value)

    @on(Told)
    def told(self, event: Told) -> None:
        event.stop()
        bench = bench_of(self.app)
        bench.tell(event.says)
        if event.volt is None:
            self._put("says", event.says)
            return
        if self._board.is_virtual:
            bench.virtual_memory["kept"] = f"{1000 * event.volt:.0f}"
        self.query_one(MeterField).value = ""
        self.query_one("#trimmer-close").focus()

    @on(Button.Pressed, "#trimmer-close")
    def action_close(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#trimmer-up")
    def up(self) -> None:
        self.action_turn(1)

    @on(Button.Pressed, "#trimmer-down")
    def down(self) -> None:
        self.action_turn(-1)

    def action_turn(self, way: int) -> None:
        """Turn the demo's trimmer a little."""
        self._by_itself = False
        self._board.turn_by(way * _TURN * self._trimmer.target_volt)

    @on(Button.Pressed, "#trimmer-itself")
    def action_by_itself(self) -> None:
        """Let the demo's trimmer turn by itself, as it says, or no longer."""
        self._by_itself = self._board.is_virtual and not self._by_itself

    def action_slip(self) -> None:
        """Let the blade slip at the demo's trimmer."""
        self._by_itself = False
        self._board.slip()
