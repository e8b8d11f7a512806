"""The wiring drawing of a motor, for any room: as styled lines, as plain text, as SVG."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

from coilbench.winding.readings.reading import Reading

if TYPE_CHECKING:
    from coilbench.rating.wiring import Half, Phase, Wire
    from coilbench.winding.drawing.model import DrawnCoil, DrawnLead, WiringDrawing
    from coilbench.winding.drawing.strip import Hookup, Strip
    from coilbench.winding.drawing.text import Line as Line
    from coilbench.winding.engine.verdict import Verdict
    from coilbench.winding.order.types import OrderVerdict

TALL = 200  # lines, where nothing limits them
LARGE_FROM = 48  # columns
LARGE_SHARE = 0.6  # of the height: the rest is for what is said below


class Picture(ABC):
    """Something that can be drawn."""

    TELLS_HOW_SURE: ClassVar[bool] = True  # below the drawing, of each lead

    @abstractmethod
    def drawing(self) -> WiringDrawing:
        """What is drawn."""

    def hookup(self) -> Hookup | None:
        """Where the leads go; None where they are just leads."""
        return None

    def _strip(self) -> Strip:
        from coilbench.winding.drawing.strip import lay_out

        return lay_out(self.drawing(), self.hookup())

    def lines(
        self, width: int, height: int = TALL, *, ascii: bool = False, listed: bool = True, large: bool = False
    ) -> list[Line]:
        """The drawing in so many columns; in fewer rows where ``height`` is short, with its list of leads, if that is
        wanted, where the lines have room for it. ``large`` where it leaves room for more than itself."""
        from coilbench.winding.drawing.strip import compact, roomy
        from coilbench.winding.drawing.text import Piece, lead_list, strip_lines

        strip = self._strip()
        lines = strip_lines(strip, width=width, ascii=ascii)
        if len(lines) > height:
            return strip_lines(compact(strip), width=width, ascii=ascii)
        if large and width >= LARGE_FROM:
            larger = strip_lines(roomy(strip), width=width, ascii=ascii, large=True)
            lines = larger if len(larger) <= LARGE_SHARE * height else lines
        leads = self.drawing().leads if listed else ()
        below = lead_list(leads, width=width, ascii=ascii, how_sure=self.TELLS_HOW_SURE)
        if below and len(lines) + 1 + len(below) <= height:
            lines += [(), *((Piece(line, "faint"),) for line in below)]
        return lines

    def text(self, width: int, height: int = TALL, *, ascii: bool = False, listed: bool = True) -> str:
        """The same without style."""
        from coilbench.winding.drawing.text import as_text

        return as_text(self.lines(width, height, ascii=ascii, listed=listed))

    def svg(self, title: str = "Wiring drawing") -> str:
        """The drawing as a complete SVG document."""
        from coilbench.winding.drawing.svg import strip_svg

        return strip_svg(self._strip(), title)


@dataclass(frozen=True, slots=True)
class Wiring(Picture):
    """The windings as far as they are known, and the phase order where it is."""

    verdict: Verdict
    order: OrderVerdict | None = None
    readings: Sequence[Reading] = ()
    touches: Mapping[str, str] | None = None  # what is on each lead now

    def drawing(self) -> WiringDrawing:
        from coilbench.winding.drawing.model import draw

        return draw(self.verdict, self.order, self.readings)

    def hookup(self) -> Hookup | None:
        from coilbench.winding.drawing.strip import Hookup

        return Hookup(self.touches) if self.touches else None


@dataclass(frozen=True, slots=True)
class HookedUp(Picture):
    """The windings as one connection wires them: which lead goes where. ``idle`` leads belong to no coil in use."""

    TELLS_HOW_SURE = False

    phases: tuple[Phase, ...]
    wires: tuple[Wire, ...]
    idle: tuple[str, ...] = ()

    def drawing(self) -> WiringDrawing:
        from coilbench.winding.drawing.model import WiringDrawing

        common = _common(self.phases)
        coils = tuple(coil for phase in self.phases for coil in _coils(phase, common))
        on_coils = dict.fromkeys(lead for coil in coils for lead in (coil.first, coil.tap, coil.second) if lead)
        leads = tuple(_lead(name, placed=True) for name in on_coils)
        spare = tuple(_lead(name, placed=False) for name in self.idle if name not in on_coils)
        return WiringDrawing("star" if common else "coils", coils, (*leads, *spare), common=common)

    def hookup(self) -> Hookup:
        from coilbench.rating.wiring import UNUSED
        from coilbench.winding.drawing.strip import APART, Hookup

        goes: dict[str, str] = {}
        joins = []
        for wire in self.wires:
            if wire.where == "join":
                joins.append(wire.leads)
                continue
            to = APART if wire.where == UNUSED else wire.where.replace("-", "−")
            goes |= dict.fromkeys(wire.leads, to)
        return Hookup(goes, joins)


def _common(phases: Sequence[Phase]) -> str | None:
    """The lead that all halves share, where there is one."""
    shared = {phase.first.finish for phase in phases if phase.tapped}
    return shared.pop() if len(phases) > 1 and len(shared) == 1 and all(phase.tapped for phase in phases) else None


def _coils(phase: Phase, common: str | None) -> list[DrawnCoil]:
    from coilbench.winding.drawing.model import DrawnCoil

    first, second = phase.first, phase.second
    if second is None:
        return [_plain_coil(phase.name, first)]
    if common:
        own_end_first = replace(second, start=second.finish, finish=second.start)
        return [_plain_coil(phase.name, first), _plain_coil(f"{phase.name}'", own_end_first)]
    if phase.tapped:
        return [DrawnCoil(phase.name, first.start, second.finish, tapped=True, tap=first.finish, alive=True)]
    return [_plain_coil(f"{phase.name}1", first, phase.name), _plain_coil(f"{phase.name}2", second, phase.name)]


def _plain_coil(name: str, half: Half, phase: str | None = None) -> DrawnCoil:
    from coilbench.winding.drawing.model import DrawnCoil

    return DrawnCoil(name, half.start, half.finish, alive=True, phase=phase)


def _lead(name: str, *, placed: bool) -> DrawnLead:
    from coilbench.winding.drawing.model import DrawnLead
    from coilbench.winding.readings.leads import lead_colour

    colour = lead_colour(name)
    return DrawnLead(
        name,
        "placed" if placed else "spare",
        1.0,
        code=colour.code if colour else None,
        word=colour.word if colour else None,
        css=tuple(colour.css) if colour else (),
    )
