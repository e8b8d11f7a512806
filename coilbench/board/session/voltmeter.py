"""A helper board as a voltmeter for a driver's reference pin: finer below its 1.1 V, its scale set once by a meter.

The sketch reckons its supply from the bandgap, and takes that for 1.1 V: so both ranges are off by one and the same
factor, from chip to chip, and one point against a meter sets both right. The board keeps it; where an
older sketch can't, it holds as long as the session.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from coilbench.board.client.client import Helper
from coilbench.board.link.answers import whole
from coilbench.board.link.faults import LinkFault
from coilbench.board.link.link import BeginLog
from coilbench.board.link.messages import BANDGAP_MV, LEAST_BANDGAP_MV, MOST_BANDGAP_MV
from coilbench.errors import InputProblem

SAMPLES = 64
UPDATE_S = 0.1
STEPS = 1024
BANDGAP_VOLT = BANDGAP_MV / 1000
# Microchip: ATmega328P data sheet, "System and Reset Characteristics", from memory: 1.0 to 1.2 V.
BANDGAP_SHARE = 0.1
_FINE_BELOW_VOLT = 0.9  # which is below the reference of every chip
_FINE_TOP, _TOP = 0.97, 0.995  # of a range: what lies above may be anything
_FIRST_VIRTUAL_VOLT = 0.15
_SUPPLY_WEIGHT = 1 / 16  # of a new reading: one alone is good to 0.4 %

OpenHelper = Callable[[str, BeginLog | None], Helper]


@dataclass(frozen=True)
class PinVolt:
    """What lies at the pin, by the board's own scale; ``at_top``: the board's supply, or more."""

    volt: float
    step_volt: float
    supply_volt: float
    at_top: bool = False


class Voltmeter:
    """One analogue input of a greeted board whose outputs are off.

    ``bandgap_volt`` is its reference, as well as that is known; the board reckons by what it takes it for.
    """

    def __init__(self, helper: Helper, channel: int) -> None:
        self._helper, self._channel = helper, channel
        self._on_board = helper.bandgap()
        self.bandgap_volt = self._taken_volt
        self.is_calibrated = self._on_board is not None and self._on_board.kept
        self._fine = False
        self._code: float | None = None  # the bandgap in steps of the supply, a running mean

    def read(self) -> PinVolt:
        """A reading of 64 samples. Raises LinkFault, Refused."""
        if self._fine:
            found = self._helper.read_input(self._channel, SAMPLES, "bandgap")
            supply_volt = self._mean_supply(found.supply_volt)
            if found.share < _FINE_TOP:
                return PinVolt(found.share * self.bandgap_volt, self.bandgap_volt / STEPS, supply_volt)
        found = self._helper.read_input(self._channel, SAMPLES)
        supply_volt = self._mean_supply(found.supply_volt)
        volt = found.share * supply_volt
        self._fine = volt < _FINE_BELOW_VOLT
        return PinVolt(volt, supply_volt / STEPS, supply_volt, found.share > _TOP)

    def _mean_supply(self, told_volt: float) -> float:
        code = self._taken_volt * STEPS / max(told_volt, 0.1)
        self._code = code if self._code is None else self._code + _SUPPLY_WEIGHT * (code - self._code)
        return self.bandgap_volt * STEPS / self._code

    @property
    def _taken_volt(self) -> float:
        return BANDGAP_VOLT if self._on_board is None else self._on_board.volt

    def rescale(self, factor: float) -> bool:
        """Multiply all readings from here on by ``factor``; whether the board keeps it. Raises LinkFault, Refused,
        InputProblem for a reference that no chip has."""
        volt = self.bandgap_volt * factor
        if not LEAST_BANDGAP_MV <= round(1000 * volt) <= MOST_BANDGAP_MV:
            raise InputProblem(
                f"the chip's reference would be {volt:.3g} V by that, which is 1 to 1.2 V in every chip",
                remedy="see that both are on the same pin, their grounds joined, and the meter on DC volts",
            )
        if self._on_board is not None:
            self._on_board = self._helper.keep_bandgap(volt)
            volt = self._on_board.volt
        self.bandgap_volt, self.is_calibrated = volt, True
        return self._on_board is not None


def channel_of(name: str) -> int:
    """An analogue input by the name that is printed beside it, A0 to A15. Raises InputProblem."""
    text = name.strip().upper().removeprefix("A")
    if not text.isdigit() or int(text) > 15:
        raise InputProblem(f"{name!r} is no analogue input, expected such as A0")
    return int(text)


class TrimmerSession:
    """A board on ``url`` whose analogue input is joined to a trimmer; for one thread, but for ``close``."""

    def __init__(
        self, url: str, pin: str = "A0", log: BeginLog | None = None, *, opener: OpenHelper = Helper.open
    ) -> None:
        self.url = url
        self.channel = channel_of(pin)
        self._log, self._opener = log, opener
        self._helper: Helper | None = None
        self._meter: Voltmeter | None = None
        self._due_s = 0.0
        self._virtual_volt: float | None = None

    def open(self) -> None:
        """Open the port, greet the board, switch its outputs off. Raises LinkFault, Refused, InputProblem."""
        helper = self._helper = self._opener(self.url, self._log)
        helper.stop()
        channels = whole(helper.pin_map()["sense"], "channels")
        if self.channel >= channels:
            raise InputProblem(
                f"the board on {self.url} has no A{self.channel}", remedy=f"it has A0 to A{channels - 1}"
            )
        self._meter = Voltmeter(helper, self.channel)
        self._due_s = helper.link.now()

    def read(self) -> PinVolt:
        """The next reading, ten a second. Raises LinkFault, Refused."""
        helper, meter = self._helper, self._meter
        if helper is None or meter is None:
            raise LinkFault("no board is connected", title="No board", remedy="connect the board first")
        while (left_s := self._due_s - helper.link.now()) > 0:
            helper.link.receive(left_s)
        self._due_s = max(self._due_s, helper.link.now() - UPDATE_S) + UPDATE_S
        return meter.read()

    @property
    def bandgap_volt(self) -> float | None:
        """The board's reference by what a meter told; None where none has."""
        return self._meter.bandgap_volt if self._meter is not None and self._meter.is_calibrated else None

    def rescale(self, factor: float) -> bool:
        """As ``Voltmeter.rescale``; for the thread that reads."""
        assert self._meter is not None, "the board is open"
        return self._meter.rescale(factor)

    def now(self) -> float:
        """The line's clock, seconds; 0 before it is open."""
        return 0.0 if self._helper is None else self._helper.link.now()

    def turn_virtual(self, volt: Callable[[float], float]) -> bool:
        """Turn the trimmer of a virtual board, where there is one: ``volt`` makes of its voltage the next."""
        port = self._helper.link.port if self._helper is not None else None
        put = getattr(port, "put_input", None)
        if put is None:
            return False
        self._virtual_volt = max(volt(_FIRST_VIRTUAL_VOLT if self._virtual_volt is None else self._virtual_volt), 0.0)
        put(self.channel, self._virtual_volt)
        return True

    def close(self) -> None:
        """Let the port go; never raises."""
        if self._helper is not None:
            self._helper.close()
