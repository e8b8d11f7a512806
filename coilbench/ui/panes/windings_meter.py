"""The windings stage with a bench meter on a port: it reads in a worker, once or by itself, and says what it sees."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

from textual import on, work
from textual.message import Message

from coilbench.board.link.ports import PortChoice
from coilbench.errors import CoilbenchError
from coilbench.stages.windings.bench_meter import MeterAtWork, own_on_port, shown_ohm, virtual_meter
from coilbench.stages.windings.stage import WindingsStage
from coilbench.ui.faults import own_fault
from coilbench.ui.panes.base import StagePane

if TYPE_CHECKING:
    from coilbench.board.virtual.crate import VirtualCrate
    from coilbench.stages.windings.words import Asked

_LATER_S = 0.1
_PAUSE_S = 0.02  # between two readings, for whatever else wants the processor
Places = tuple[str, str]


class MeterPane(StagePane[WindingsStage]):
    """Hands the meter's readings to the stage as if they had been typed."""

    _meter: MeterAtWork | None = None
    _stop: threading.Event | None = None  # of the worker that reads now
    _free = False  # each reading by itself
    _places: Places | None = None  # where the probes are to be
    _told = ""  # what was said last of the meter

    class Seen(Message):
        """What the meter shows on its way, or that the probes have to be lifted first."""

        def __init__(self, stop: threading.Event, text: str) -> None:
            super().__init__()
            self.stop_of, self.text = stop, text

    class Rested(Message):
        """A reading that has come to rest between two places."""

        def __init__(self, stop: threading.Event, places: Places, ohm: float) -> None:
            super().__init__()
            self.stop_of, self.places, self.ohm = stop, places, ohm

    class MeterEnded(Message):
        """The worker has ended, well or with a problem."""

        def __init__(self, stop: threading.Event, problem: CoilbenchError | None) -> None:
            super().__init__()
            self.stop_of, self.problem = stop, problem

    @property
    def ask(self) -> Asked | None:
        """What is asked now."""
        raise NotImplementedError

    @property
    def virtual(self) -> VirtualCrate | None:
        """The demo's meter, where it can read this motor."""
        raise NotImplementedError

    @property
    def has_meter(self) -> bool:
        """A meter is at the bench that tells its readings over a port."""
        return own_on_port(self.desk) is not None

    @property
    def is_measuring(self) -> bool:
        """The meter on the port is at work."""
        return self._stop is not None

    def meter_asks(self) -> None:
        """The question has changed: the probes go elsewhere; without one the meter is done."""
        ask = self.ask
        self._places = None if ask is None else (ask.a, ask.b)
        if ask is None and self.is_measuring and not self.waiting:
            self.let_meter_go()

    def let_meter_go(self) -> None:
        """Call its reading off; it is closed once that has ended."""
        if self._stop is not None:
            self._stop.set()
            self._stop, self._free = None, False

    def on_unmount(self) -> None:
        self.let_meter_go()

    def measure_on_port(self) -> None:
        """One reading, once it rests."""
        self._with_meter(free=False)

    def action_windings_free(self) -> None:
        """Each reading by itself from now on, or no longer."""
        if self._free:
            self.let_meter_go()
            self.say("the meter takes no more readings by itself")
        else:
            self._with_meter(free=True)

    def _with_meter(self, *, free: bool) -> None:
        if self.is_measuring or self.ask is None:
            return
        own, virtual = own_on_port(self.desk), self.virtual
        if own is not None:
            self._begin_with(MeterAtWork.of(own), free=free)
        elif virtual is not None:
            name = virtual.names.get(self.desk.motor, self.desk.motor)
            self._begin_with(MeterAtWork(virtual_meter(name, self.bench.virtual_options)), free=free)
        else:
            self._ask_port(free=free)

    def _ask_port(self, *, free: bool) -> None:
        def offered(found: list[PortChoice]) -> None:
            from coilbench.ui.dialogs.pick_port import PickPortDialog

            def picked(url: str | None) -> None:
                if url is not None:
                    self._begin_with(MeterAtWork(url), free=free)

            self.app.push_screen(PickPortDialog(found, "which port is the meter on?"), picked)

        offered(self.bench.ports())

    def _begin_with(self, meter: MeterAtWork, *, free: bool) -> None:
        self._meter, self._free, self._stop = meter, free, threading.Event()
        self.meter_asks()
        self.say(f"opening the meter on {meter.url}")
        self.refresh_bindings()
        self._read(meter, self._stop, free)

    @work(thread=True, group="meter", exit_on_error=False)
    def _read(self, meter: MeterAtWork, stop: threading.Event, free: bool) -> None:
        try:
            self.post_message(self.Seen(stop, meter.open()))
            (self._by_itself if free else self._once)(meter, stop)
            problem = None
        except CoilbenchError as met:
            problem = met
        except Exception as fault:  # a fault of ours must not take the bench down
            problem = own_fault(fault)
        meter.close()
        self.post_message(self.MeterEnded(stop, problem))

    def _once(self, meter: MeterAtWork, stop: threading.Event) -> None:
        places = self._places
        if places is not None:
            ohm = meter.settled(*places, lambda shows: self._tell(stop, shows, ""), stop)
            self.post_message(self.Rested(stop, places, ohm))

    def _by_itself(self, meter: MeterAtWork, stop: threading.Event) -> None:
        from coilbench.board.meter.settling import Hand

        hand = Hand()
        while not stop.wait(_PAUSE_S) and (places := self._places) is not None:
            ohm = meter.ohm(*places)
            rested = hand.feed(ohm)
            if rested is not None:
                self.post_message(self.Rested(stop, places, rested))
            else:
                self._tell(stop, ohm, "taken; lift the probes" if hand.must_lift else "")

    def _tell(self, stop: threading.Event, ohm: float, more: str) -> None:
        """Say what the meter shows, once while it shows the same."""
        text = f"meter: {shown_ohm(ohm)} {more or '...'}"
        if text != self._told:
            self._told = text
            self.post_message(self.Seen(stop, text))

    @on(Seen)
    def meter_shows(self, event: Seen) -> None:
        event.stop()
        if event.stop_of is self._stop and not self.waiting:
            self.say(event.text)

    @on(Rested)
    def meter_rested(self, event: Rested) -> None:
        """The reading counts for the places that it was taken at, and only while those are asked for."""
        event.stop()
        if event.stop_of is not self._stop:
            return
        if self.waiting:
            self.set_timer(_LATER_S, lambda: self.post_message(self.Rested(event.stop_of, event.places, event.ohm)))
            return
        ask, meter = self.ask, self._meter
        if ask is None or meter is None or (ask.a, ask.b) != event.places:
            return
        self.stage.measure(lambda a, b: event.ohm, meter.accuracy)
        self.read_again()

    @on(MeterEnded)
    def meter_ended(self, event: MeterEnded) -> None:
        event.stop()
        if event.stop_of is not self._stop:
            return
        self._stop, self._free = None, False
        if event.problem is not None:
            self.say("")
            self.bench.show_problem(event.problem)
        elif self._meter is not None and (said := self._meter.remember(self.desk)):
            self.bench.tell(said)
        self.refresh_bindings()
