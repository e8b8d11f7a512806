"""The first part of a jog: ports, the board, what to wire where, and one slow turn before anything fast."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.widgets import Static

from coilbench.errors import CoilbenchError
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.panes.jog import setup as jog_setup
from coilbench.ui.panes.jog.board import COVERED, BoardPane
from coilbench.ui.panes.jog.flow import Flow
from coilbench.ui.panes.jog.form import JogForm
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from coilbench.board.session.jog import JogSession, TurnEnd
    from coilbench.board.session.session import BoardFound
    from coilbench.records.store import Bin

    Base = BoardPane[JogSession]
else:  # the session brings the serial line along, which is loaded when it is used
    Base = BoardPane

SETTLED = ("wire", "turned", "choose")  # connected, nothing moves, and no search is at work
WIRED = "Then supply on, flag taped to the shaft, hands off, and let it turn once."


class ConnectPane(Base):
    """Knows the form, the port and the board; what is searched for comes later."""

    VIRTUAL_OPTIONS: ClassVar[str] = ""  # more of the virtual port's URL

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.flow = Flow()
        self.setting: jog_setup.Setting | None = None
        self._looking = self._hasty = False  # for ports; asked to connect meanwhile

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def form(self) -> JogForm:
        return self.query_one(JogForm)

    async def show(self) -> None:
        """Show the present state."""
        raise NotImplementedError

    # Ports and board

    def _look_for_ports(self) -> None:
        self._looking = True
        self._start(jog_setup.real_ports)

    def _offer_ports(self, found: list[jog_setup.PortChoice]) -> None:
        if self.bench.demo:
            found = [jog_setup.virtual_port(self.bin.facts(self.motor_name)), *found]
        self.form.offer(found, take_first=self.bench.demo)
        self._looking = False
        if self._hasty:
            self._hasty = False
            self.call_after_refresh(self.action_jog_connect)

    @on(Field.Submitted)
    async def entered(self, event: Field.Submitted) -> None:
        event.stop()
        await self.action_jog_connect()

    async def action_jog_connect(self) -> None:
        """Open the chosen port and greet the board."""
        self._hasty = self._looking
        if self.busy or self.flow.stand not in ("board", "wire"):
            return
        from coilbench.board.session.drive import check_drivable

        try:
            self.check_sound()
            setting = self.form.setting()
            check_drivable(setting.drive.kind, self.bin.facts(self.motor_name))
        except CoilbenchError as problem:
            self.form.say(str(problem), problem=True)
            return
        from coilbench.board.link.conversation import kept_log
        from coilbench.board.session.jog import JogSession
        from coilbench.records.paths import board_log_path

        self._close_session()
        # The demo's conversations must not push out those of a real board.
        url, log = setting.url, None if self.bench.demo else partial(kept_log, board_log_path())
        if url.startswith("virtual://"):
            facts = self.bin.facts(self.motor_name)
            url = jog_setup.virtual_port(facts, setting.drive, setting.shaft, self.VIRTUAL_OPTIONS).url
        self.setting = setting
        self.session = JogSession(url, setting.drive, setting.shaft, log)
        self.form.say("waiting for the board; some take three seconds to start")
        self._start(self.session.open)

    def _connected(self, board: BoardFound) -> None:
        self.board = board
        self.flow.stand = "wire"
        from coilbench.board.session.wiring import also

        assert self.setting is not None
        self.form.say(f"Wire it as drawn. {also(self.setting.drive.kind)} {WIRED}")

    async def action_jog_settings(self) -> None:
        """Let the board go, and back to the settings."""
        if not self.busy and self.flow.stand in SETTLED:
            self._close_session()
            self.flow.stand, self.flow.pause = "board", ""
            self.form.say("")
            await self.show()

    # What to wire where

    def wiring(self) -> list[str]:
        """What to wire where, by the board's own pins and the motor's leads."""
        assert self.board is not None and self.setting is not None
        from coilbench.board.session.wiring import coil_wiring, driver_wiring

        ascii, kind = self.bench.plain_characters, self.setting.drive.kind
        facts = self.bin.facts(self.motor_name)
        if kind == "driver":
            wires = [str(each) for each in (facts.get("connection") or {}).get("wiring") or []]
            return driver_wiring(self.board.pins, wires, ascii=ascii)
        from coilbench.rating.coil_lines import coil_lines

        return coil_wiring(self.board.pins, kind, coil_lines(kind, facts), ascii=ascii)

    def drive_cautions(self) -> tuple[str, ...]:
        """What to mind with this drive, beside what always holds."""
        kind = self.setting.drive.kind if self.setting is not None else "driver"
        if kind == "driver":
            from coilbench.board.session.drive import driver_cautions

            return driver_cautions(self.bin.facts(self.motor_name))
        from coilbench.rating.coil_lines import coil_cautions

        connection = self.bin.fact(self.motor_name, "connection") or {}
        return coil_cautions(kind, connection.get("current_ampere"), connection.get("resistance_ohm"))

    def no_current(self) -> str:
        """What to mind where no current was worked out for this motor."""
        from coilbench.board.session.drive import no_current_words

        kind = self.setting.drive.kind if self.setting is not None else "driver"
        return no_current_words(kind, self.bin.facts(self.motor_name))

    def _picture(self) -> Callable[[int, int], str]:
        lines = self.wiring()
        return lambda width, height: "\n".join(line[:width] for line in lines)

    # One slow turn

    async def action_jog_turn(self) -> None:
        """One slow turn, to see that coils, current and direction are sane."""
        session = self.session
        if self.busy or session is None or self.flow.stand != "wire":
            return
        self.flow.stand, self.flow.moving, self.flow.way, self.was_covered = "turning", True, "", False
        self.flow.counting = session.shaft.sensor
        progress = self._progress()
        session.ready()
        self._start(lambda: session.turn(progress))
        await self.show()

    def _turn_ended(self, turn: TurnEnd) -> None:
        """On to the question, or back to the wiring with what is wrong."""
        assert self.setting is not None
        shaft, self.flow.turn = self.setting.shaft, turn
        if not turn.complete:
            self.flow.stand = "wire"
            self.form.say(f"{COVERED if self.was_covered else 'Stopped, outputs off.'} F6 turns it anew.")
        elif shaft.sensor and not turn.edges:
            self.flow.stand = "wire"
            self.form.say("the index sensor saw no edge in two turns: look after flag, sensor, wiring", problem=True)
        elif wrong := turn.miscounted(shaft):
            self._put_counted(turn, wrong)
        else:
            self.flow.stand = "turned"

    def _put_counted(self, turn: TurnEnd, wrong: str) -> None:
        """What was counted goes into the form, for the person to look at and take."""
        assert self.setting is not None and turn.counted is not None
        shaft, counted = self.setting.shaft, turn.counted
        if shaft.flag_on == "output" and shaft.gear != 1:
            self.form.fill(replace(self.form.texts, gear=f"{counted.steps_per_turn / shaft.steps_per_turn:.5g}"))
        else:
            self.form.fill(replace(self.form.texts, turn=str(counted.usual or round(counted.steps_per_turn))))
        self._close_session()
        self.flow.stand = "board"
        self.form.say(f"{wrong}. It stands in the form now: look at it, then connect again.", problem=True)
        self.query_one("#jog-said", Static).scroll_visible(animate=False)
