"""The screen while a motor is jogged: the question's words and its answers, STOP, curve and ladder."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Static

from coilbench.stages.jog.scene import Scene
from coilbench.ui.widgets.ladder import Ladder
from coilbench.ui.widgets.skip_curve import SkipCurve

MOST_ANSWERS = 6


class JogBench(Horizontal):
    """Left the work, right what the trials say; STOP and what comes next are always there, however long the words."""

    def compose(self) -> ComposeResult:
        with Vertical(id="jog-left"):
            with VerticalScroll(id="jog-words"):
                yield Static("", id="jog-says", markup=False)
                for digit in range(MOST_ANSWERS):
                    yield Button("", id=f"jog-answer-{digit}", classes="jog-answer", compact=True)
                yield Button("let the shaft answer (m)", id="jog-meter", classes="jog-answer", compact=True)
                yield Button("", id="jog-go", classes="jog-answer", variant="primary", compact=True)
            yield Button("prove it (p)", id="jog-prove", classes="jog-answer", compact=True)
            yield Button("another search (n)", id="jog-choose", classes="jog-answer", compact=True)
            yield Static("caution: fingers, hair and sleeves clear of the shaft", id="jog-caution", markup=False)
            yield Button("■ STOP  (space)", id="jog-stop", variant="error")
        with Vertical(id="jog-right"):
            yield Static("", id="jog-count", markup=False)
            yield SkipCurve(id="jog-curve")
            yield Ladder(id="jog-ladder")

    def draw(self, scene: Scene) -> None:
        """Show a scene, and put the focus where no key does harm."""
        for name, text in (("says", scene.says), ("count", scene.count)):
            line = self.query_one(f"#jog-{name}", Static)
            line.update(text)
            line.display = bool(text)
        words = dict(scene.answers)
        for digit in range(MOST_ANSWERS):
            button = self.query_one(f"#jog-answer-{digit}", Button)
            button.display = digit in words
            button.label = f"{digit} {words.get(digit, '')}"
        go = self.query_one("#jog-go", Button)
        go.display, go.label = bool(scene.go), f"{scene.go} (g)"
        stop = self.query_one("#jog-stop", Button)
        stop.set_class(not scene.moving, "-idle")
        stop.variant = "error" if scene.moving else "default"
        self.query_one("#jog-meter").display = scene.meter
        self.query_one("#jog-choose").display = scene.choose
        self.query_one("#jog-prove").display = scene.prove
        self.query_one(Ladder).show(scene.told, scene.present)
        curve = self.query_one(SkipCurve)
        curve.display = scene.curve is not None
        if scene.curve is not None:
            curve.call_later(curve.draw, scene.curve, scene.told)
        self.query_one("#jog-words").scroll_home(animate=False)
        self.focus_work(scene.moving)

    def focus_work(self, moving: bool) -> None:
        """STOP while it moves; else the words: what moves it, an answer too, is not pressed by the next Enter."""
        self.query_one("#jog-stop" if moving else "#jog-words").focus(scroll_visible=False)
