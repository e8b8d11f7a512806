"""The bench on a terminal screen. Only Textual is imported before the first screen stands; the rest comes after."""

from __future__ import annotations

import asyncio
import gc
import os
import re
import threading
import time
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual._context import active_message_pump
from textual.message import Message
from textual.reactive import var
from textual.widget import Widget

from coilbench.errors import CoilbenchError, as_started
from coilbench.stages.table import STAGES
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench
from coilbench.ui.guard import came_too_late, guard_handlers, is_gone
from coilbench.ui.lines import fit_for_terminal
from coilbench.ui.panes import pane_class
from coilbench.ui.screens.bin import BinScreen
from coilbench.ui.steady import Dialog
from coilbench.ui.styles import KeptStyles
from coilbench.ui.theme import DARK, THEMES
from coilbench.ui.widgets.stage_area import StageArea
from coilbench.ui.widgets.titlebar import TitleBar

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from textual.actions import ActionParseResult
    from textual.binding import BindingType
    from textual.command import Provider
    from textual.dom import DOMNode
    from textual.filter import LineFilter

    from coilbench.board.link.ports import PortChoice
    from coilbench.board.virtual.crate import VirtualCrate
    from coilbench.records.config import Config
    from coilbench.records.store import Bin
    from coilbench.ui.faults import FaultCount

    FindPorts = Callable[[], list[PortChoice]]


ENGINE_LATER_SECONDS = 0.3
SKETCH = "put the helper sketch on it"  # the way on where no answer, or another's, comes from a port


class BenchApp(Bench):
    """Holds the open bin and, in the demo, the crate of virtual motors; screens do the rest."""

    TITLE = "coilbench"
    CSS_PATH = ["app.tcss", "screens/bin.tcss"]  # noqa: RUF012  # one parse for the first screen
    ENABLE_COMMAND_PALETTE = False  # the palette has its own key in the table of actions
    HORIZONTAL_BREAKPOINTS = [(0, "-tiny"), (76, "-narrow"), (112, "-wide")]  # noqa: RUF012
    VERTICAL_BREAKPOINTS = [(0, "-short"), (22, "-usual"), (34, "-tall")]  # noqa: RUF012
    BINDINGS: ClassVar[list[BindingType]] = bindings_for("app")

    class BinOpened(Message):
        """The demo's bin is open."""

        def __init__(self, bin: Bin, virtual: VirtualCrate) -> None:
            super().__init__()
            self.bin, self.virtual = bin, virtual

    class BinRefused(Message):
        """The bin can't be opened."""

        def __init__(self, problem: CoilbenchError) -> None:
            super().__init__()
            self.problem = problem

    virtual: var[VirtualCrate | None] = var(None)
    _fault_count: FaultCount | None = None

    def __init__(
        self,
        bin_path: Path | None = None,
        *,
        demo: bool = False,
        config: Config | None = None,
        find_ports: FindPorts | None = None,
        virtual_options: str = "",
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        guard_handlers()
        super().__init__()
        for each in THEMES:
            self.register_theme(each)
        # Set quietly: a watched change has every style sheet parsed a second time before the first screen is drawn.
        self.set_reactive(BenchApp.theme, DARK)
        self.stylesheet = KeptStyles()
        self.stylesheet.set_variables(self.get_css_variables())
        self.virtual_options = virtual_options
        self.virtual_memory = {}
        self.clock = clock
        self._find_ports = find_ports
        self.bin_path = bin_path
        self.demo = demo
        self.config = config
        self.config_problems: tuple[str, ...] = ()
        self._bin: Bin | None = None
        self.unsaved = {}
        self.done = {}
        self.loop = None

    def ports(self) -> list[PortChoice]:
        """The ports that a helper board may be on."""
        from coilbench.board.link.ports import real_ports

        return (self._find_ports or real_ports)()

    @property
    def bin(self) -> Bin:
        """The open bin. Raises CoilbenchError before it is open."""
        if self._bin is None:
            raise CoilbenchError("the bin of motors isn't open yet")
        return self._bin

    @property
    def is_bin_open(self) -> bool:
        """Whether the bin is open by now."""
        return self._bin is not None

    @property
    def is_scratch(self) -> bool:
        """Whether the bin is the demo's own, which is thrown away when the bench is closed."""
        return self.demo and self.bin_path is None

    @property
    def plain_characters(self) -> bool:
        """Whether drawings keep to ASCII."""
        return self.config is not None and self.config.ascii

    def get_line_filters(self) -> Sequence[LineFilter]:
        """What is done to each line before it goes to the terminal."""
        return fit_for_terminal(super().get_line_filters())

    def get_default_screen(self) -> BinScreen:
        """The bin is the first screen, at the bottom of the pile."""
        return BinScreen()

    def export_screenshot(self, *, title: str | None = None, simplify: bool = False) -> str:
        """A picture of the screen as SVG, without the buttons of a window that it isn't in."""
        svg = super().export_screenshot(title=title, simplify=simplify)
        return re.sub(r"<circle [^>]*/>\s*", "", svg)

    def on_mount(self) -> None:
        self.loop = asyncio.get_running_loop()
        if self.config is not None:
            from coilbench.ui.keymap import checked_keymap

            keymap, problems = checked_keymap(self.config.keys)
            problems = [*self.config.problems, *problems]
            self.set_keymap(keymap)
            if self.config.theme in self.available_themes:
                self.theme = self.config.theme
            elif self.config.theme:
                problems.append(f"no colours called {self.config.theme}; kept {self.theme}")
            self.config_problems = tuple(problems)
        if self.demo:
            self.open_demo_bin()
        else:
            self.open_own_bin()

    def open_own_bin(self) -> None:
        """Open the person's bin before the first screen is drawn, so that it is drawn once, with the motors in it."""
        from coilbench.records.store import Bin

        try:
            self._bin = Bin.open(self.bin_path, thorough=False)
        except CoilbenchError as problem:
            self.call_after_refresh(self.post_message, self.BinRefused(problem))
            return
        self.set_timer(ENGINE_LATER_SECONDS, self.get_engine_ready)
        if not self._bin.looked_over:
            self.set_timer(ENGINE_LATER_SECONDS, self.look_it_over)

    @work(thread=True, exit_on_error=False)
    def look_it_over(self) -> None:
        """Look a large bin over while the person reads the first screen: row by row that takes a second."""
        from coilbench.records.opening import look_over

        try:
            look_over(self.bin.path)
        except CoilbenchError as problem:
            self.post_message(self.BinRefused(problem))

    @work(thread=True, exit_on_error=False)
    def open_demo_bin(self) -> None:
        """Make the demo's bin in a thread: a dozen motors are a dozen writes to the disk."""
        from coilbench.stages.demo import open_demo

        try:
            self.post_message(self.BinOpened(*open_demo(self.bin_path)))
        except CoilbenchError as problem:
            self.post_message(self.BinRefused(problem))

    @on(BinOpened)
    def bin_opened(self, event: BinOpened) -> None:
        self._bin, self.virtual = event.bin, event.virtual
        if isinstance(self.screen, BinScreen):
            self.screen.reload()
        self.set_timer(ENGINE_LATER_SECONDS, self.get_engine_ready)

    @work(thread=True, exit_on_error=False)
    def get_engine_ready(self) -> None:
        """Import the engine, its numpy and the stages' panes while the person reads the first screen."""
        import_module("coilbench.winding.engine.sorting")
        for each in STAGES:
            pane_class(each)
        gc.enable()  # the command turned it off for the start

    @on(BinRefused)
    def bin_refused(self, event: BinRefused) -> None:
        """A bin that can't be opened is said, and the bench closed; a damaged one can be set aside from here."""
        from coilbench.records.problems import BinDamaged
        from coilbench.ui.dialogs.basic import ProblemDialog
        from coilbench.ui.dialogs.damaged import DamagedDialog

        problem = event.problem
        if any(isinstance(each, DamagedDialog) for each in self.screen_stack):
            return
        if self._bin is not None:  # found in it later
            self.stop_motor()
            self._bin.close()
            self._bin = None
            while len(self.screen_stack) > 1:
                self.pop_screen()

        def answered(set_it_aside: bool | None) -> None:
            if set_it_aside and isinstance(problem, BinDamaged):
                self.begin_anew(problem.path)
            else:
                self.exit(problem.exit_code)

        dialog = DamagedDialog(problem) if isinstance(problem, BinDamaged) else ProblemDialog(problem)
        self.push_screen(dialog, answered)

    def begin_anew(self, path: Path) -> None:
        """Set a damaged bin aside and go on with an empty one, saying where the old one is."""
        from coilbench.records.opening import set_aside_damaged
        from coilbench.ui.dialogs.basic import TextDialog

        try:
            moved = set_aside_damaged(path)
        except CoilbenchError as problem:
            self.post_message(self.BinRefused(problem))
            return
        if self.demo:
            self.open_demo_bin()
        else:
            self.open_own_bin()
        if moved is None and isinstance(self.screen, BinScreen):
            self.screen.reload()
        if moved is not None:
            text = (
                f"The damaged file is kept, as it was, at\n{moved}\n\nThis bench goes on with an empty bin at\n{path}"
                "\n\nMotors from a copy that was exported come back with `coilbench bin import FILE`."
            )
            self.push_screen(TextDialog("an empty bin", as_started(text)))

    async def run_action(
        self,
        action: str | ActionParseResult,
        default_namespace: DOMNode | None = None,
        namespaces: Mapping[str, DOMNode] | None = None,
    ) -> bool:
        """Pass over what was meant for something that is gone by now: keys and the palette come a moment later."""
        if isinstance(default_namespace, Widget) and is_gone(default_namespace):
            return False
        return await super().run_action(action, default_namespace, namespaces)

    def show_problem(self, error: CoilbenchError) -> None:
        """Show an error as title, what happened, what to do."""
        from coilbench.ui.dialogs.basic import ProblemDialog

        port = getattr(error, "sketchless", "")

        def answered(wants_sketch: bool | None) -> None:
            if wants_sketch:
                from coilbench.ui.dialogs.flash import FlashDialog

                self.push_screen(FlashDialog(port))

        self.push_screen(ProblemDialog(error, SKETCH if port else ""), answered)

    def met(self, error: Exception) -> None:
        """Show what a person can mend; of what nobody foresaw stop the motor, write it down, say it once."""
        if isinstance(error, CoilbenchError):
            self.show_problem(error)
            return
        from coilbench.ui.dialogs.basic import FaultDialog
        from coilbench.ui.faults import FaultCount, own_fault

        self.stop_motor()
        said = own_fault(error)
        self._fault_count = self._fault_count or FaultCount()
        if self._fault_count.add() or not self.screen_stack:
            self.exit(said.exit_code, message=f"{self.TITLE}: {said}")
        elif self.is_running and not any(isinstance(each, FaultDialog) for each in self.screen_stack):
            self.push_screen(FaultDialog(said))

    def _handle_exception(self, error: Exception) -> None:
        """What comes out of timers, workers, watchers and layout goes the way of the handlers' errors."""
        from textual.worker import WorkerFailed

        inner = error.error if isinstance(error, WorkerFailed) else error
        inner = inner if isinstance(inner, Exception) else error
        if not came_too_late(active_message_pump.get(None), inner):
            self.met(inner)

    def tell(self, text: str) -> None:
        """Say something in passing, in the title's place of the nearest screen that has one."""
        for screen in reversed(self.screen_stack):
            for bar in screen.query(TitleBar):
                bar.tell(text)
                return

    def action_app_help(self) -> None:
        from coilbench.ui.dialogs.help import HelpDialog, help_for

        if isinstance(self.screen, HelpDialog):
            self.screen.dismiss(False)
        else:
            self.push_screen(HelpDialog(help_for(self.screen)))

    def action_app_palette(self) -> None:
        from coilbench.ui.commands import BenchCommands

        self._find(BenchCommands, "what to do?")

    def action_app_bench(self) -> None:
        """My bench, over the motors or a sheet; a stage that holds nothing unsaved starts from it anew."""
        from coilbench.ui.screens.own import OwnScreen

        if not self.is_bin_open or self.screen.is_modal or isinstance(self.screen, OwnScreen):
            return
        panes = [pane for pane in self.screen.query(StageArea) if not pane.unsaved_place]

        def left(changed: bool | None) -> None:
            for pane in panes if changed else ():
                if pane.is_mounted:
                    pane.bench_changed()

        self.push_screen(OwnScreen(), left)

    def action_app_theme(self) -> None:
        from coilbench.ui.commands import Colours

        self._find(Colours, "which colours?")

    def _find(self, provider: type[Provider], asks: str) -> None:
        from coilbench.ui.commands import Palette

        if not isinstance(self.screen, Palette):
            self.push_screen(Palette(providers=[provider], placeholder=f"{asks} type a word; esc: back"))

    def action_app_diagnosis(self) -> None:
        from coilbench.ui.diagnosis import diagnosis_text
        from coilbench.ui.dialogs.basic import TextDialog

        dialog = TextDialog("diagnosis", diagnosis_text(self))
        self.push_screen(dialog)
        self.call_after_refresh(dialog.action_copy)

    def action_app_leave(self) -> None:
        """Close the bench; what is typed and not saved is asked for first, but for a bin that is thrown away."""
        from coilbench.ui.dialogs.basic import ConfirmDialog

        def answered(leave: bool | None) -> None:
            if leave:
                self.exit(0)

        unsaved = [] if self.is_scratch else self.unsaved_places()
        if not unsaved:
            self.exit(0)
        elif not isinstance(self.screen, ConfirmDialog):
            self.stop_motor()
            text = f"Typed, but not saved: {'; '.join(unsaved)}."
            self.push_screen(ConfirmDialog("quit without saving?", text, "quit, lose it", "stay"), answered)

    def unsaved_places(self) -> list[str]:
        """Where texts stand that were typed and not saved, in words."""
        parts = [part for screen in self.screen_stack for part in (screen, *screen.query(StageArea))]
        here = [part.unsaved_place for part in parts if isinstance(part, StageArea | Dialog)]
        motors = {motor.name for motor in self.bin.motors()} if self.is_bin_open else set()
        left = [f"{motor}, {stage}" for motor, stage in self.unsaved if motor in motors]
        return list(dict.fromkeys([*left, *filter(None, here)]))

    def stop_motor(self) -> None:
        """Stop what a board may be moving; not on the screen's thread, which a line that is stuck would hold."""
        if self.at_work is not None:
            threading.Thread(target=self.at_work.stop, daemon=True).start()

    def on_unmount(self) -> None:
        if self._bin is not None:
            self._bin.close()


def run_bench(bin_path: Path | None = None, demo: bool = False, find_ports: FindPorts | None = None) -> int:
    """Open the bench and return its exit code.

    ``bin_path`` None means the person's own bin. ``demo`` opens a scratch bin with a crate of virtual motors.
    ``find_ports`` finds the ports a helper board may be on, the system's own without it.
    """
    from coilbench.records.config import load_config
    from coilbench.ui.ending import watched_over

    config = load_config()
    if "TEXTUAL_ANIMATIONS" not in os.environ:
        os.environ["TEXTUAL_ANIMATIONS"] = "none"  # nothing moves unless it changed
    app = BenchApp(bin_path, demo=demo, config=config, find_ports=find_ports)
    with watched_over(app):
        code = app.run(mouse=config.mouse)
    return app.return_code if code is None and app.return_code is not None else (code or 0)
