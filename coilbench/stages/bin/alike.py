"""Motors that look like the same type: what one of them was proved to do is worth trying on the others."""

from __future__ import annotations

from dataclasses import dataclass, field

from coilbench.records.saved.facts import Facts
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.windings import Windings
from coilbench.records.store import Bin
from coilbench.stages import motor

# Makers allow a winding 10 % (common practice), and a hand-held meter adds its probes and last digit.
OHM_SHARE, OHM_MORE = 0.10, 0.3
_SAME_DEGREE = 0.01
_STAGES = ("intake", "windings", "ratings")


@dataclass(frozen=True, slots=True)
class Group:
    """Motors that are alike in all that is known of each: the kind, the ohms of a half-winding (of a plain coil the
    whole) from the lowest to the highest, the face and the step angle where some of them tell."""

    motors: tuple[str, ...]
    arrangement: str
    low_ohm: float
    high_ohm: float
    face: str = ""
    step_angle_degree: float | None = None


def words(group: Group) -> str:
    """What its motors have in common, in a line."""
    angle = "" if group.step_angle_degree is None else f", {group.step_angle_degree:g}°"
    ohms = f"{group.low_ohm:.3g} to {group.high_ohm:.3g} ohm"
    return f"{group.arrangement}, {ohms}{', ' + group.face if group.face else ''}{angle}"


@dataclass(frozen=True, slots=True)
class _Looks:
    name: str
    arrangement: str
    ohm: float
    face: str
    angle: float | None


@dataclass(slots=True)
class _Open:
    """A group in the making; its motors come in the order of their ohms."""

    arrangement: str
    low_ohm: float
    high_ohm: float = 0.0
    motors: list[str] = field(default_factory=list)
    face: str = ""
    angle: float | None = None

    def near(self, each: _Looks) -> bool:
        return self.arrangement == each.arrangement and each.ohm <= self.low_ohm * (1 + OHM_SHARE) + OHM_MORE

    def takes(self, each: _Looks) -> bool:
        same_face = not self.face or not each.face or self.face == each.face
        same_angle = self.angle is None or each.angle is None or abs(self.angle - each.angle) < _SAME_DEGREE
        return same_face and same_angle and self.near(each)

    def put(self, each: _Looks) -> None:
        self.motors.append(each.name)
        self.high_ohm = each.ohm
        self.face = self.face or each.face
        self.angle = each.angle if self.angle is None else self.angle

    def closed(self) -> Group:
        return Group(tuple(self.motors), self.arrangement, self.low_ohm, self.high_ohm, self.face, self.angle)


def groups(bin: Bin) -> list[Group]:
    """The groups of two or more, the largest first. Motors with a fault, or unsorted, belong to none."""
    looks = [each for name, known in bin.known_of_all(*_STAGES).items() if (each := _looks(name, known))]
    looks.sort(key=lambda each: (each.arrangement, each.ohm, each.name))
    made: list[_Open] = []
    nearest = 0  # no earlier group can take what comes: its ohms are too far below
    for each in looks:
        while nearest < len(made) and not made[nearest].near(each):
            nearest += 1
        taking = next((group for group in made[nearest:] if group.takes(each)), None)
        if taking is None:
            made.append(taking := _Open(each.arrangement, each.ohm))
        taking.put(each)
    several = [group.closed() for group in made if len(group.motors) > 1]
    return sorted(several, key=lambda group: (-len(group.motors), group.motors))


def _looks(name: str, known: Facts) -> _Looks | None:
    windings, ohm = known.get(Windings), motor.half_winding_ohm(known)
    if windings is None or windings.faults or ohm is None:
        return None
    frame = (known.get(Intake) or Intake()).frame or ""
    return _Looks(name, windings.arrangement, ohm, " ".join(frame.casefold().split()), motor.step_angle_degree(known))
