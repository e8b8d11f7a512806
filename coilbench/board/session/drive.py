"""What stands between the board and the motor while it is jogged: a driver, or the board's own coil lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, get_args

from coilbench.errors import Fault, InputProblem
from coilbench.winding.engine.verdict import NAMED_FROM

Kind = Literal["driver", "array", "bridge"]
Form = Literal["wave", "full", "half"]
KINDS: tuple[Kind, ...] = get_args(Kind)
FORMS: tuple[Form, ...] = get_args(Form)


@dataclass(frozen=True)
class Drive:
    """``microsteps`` pulses a full step by a driver; by coil lines the patterns of ``form``.

    Raises InputProblem for what can't be.
    """

    kind: Kind = "driver"
    microsteps: int = 1
    form: Form = "full"

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise InputProblem(f"a drive of {self.kind!r} can't be; expected {', '.join(KINDS)}")
        if self.form not in FORMS:
            raise InputProblem(f"a form of {self.form!r} can't be; expected {', '.join(FORMS)}")
        if not 1 <= self.microsteps <= 256:
            raise InputProblem(f"microsteps {self.microsteps}: expected 1 to 256")

    @property
    def by_coils(self) -> bool:
        """The board switches the coils itself."""
        return self.kind != "driver"

    @property
    def pulses(self) -> int:
        """The board's steps in one full step."""
        if self.by_coils:
            return 2 if self.form == "half" else 1
        return self.microsteps

    @property
    def words(self) -> str:
        """In a few words."""
        if self.by_coils:
            steps = {"wave": "wave drive", "full": "full steps", "half": "half steps"}[self.form]
            return f"{'H-bridge' if self.kind == 'bridge' else 'transistor array'}, {steps}"
        return "driver" if self.microsteps == 1 else f"driver, 1/{self.microsteps} steps"

    @property
    def key(self) -> tuple[str, str]:
        """Drives of one key find the same figures: a driver's do not hang on its microsteps."""
        return (self.kind, self.form if self.by_coils else "")

    def as_dict(self) -> dict[str, Any]:
        """As plain JSON values."""
        return {
            "kind": self.kind,
            **({"form": self.form} if self.by_coils else {"microsteps": self.microsteps}),
        }

    @classmethod
    def from_dict(cls, plain: Mapping[str, Any] | None) -> Drive:
        """Back from ``as_dict``; nothing at all is a driver. Raises InputProblem."""
        try:
            return cls(**(plain or {}))
        except TypeError as error:
            raise InputProblem(f"a saved drive can't be read: {error}") from None


def likely_kind(facts: Mapping[str, Mapping[str, Any]]) -> Kind:
    """What this motor is driven by, from its saved stages: coil lines where it is connected unipolar, or can't be
    connected otherwise."""
    connection = (facts.get("connection") or {}).get("connection")
    five = (facts.get("windings") or {}).get("arrangement") == "unipolar-5"
    return "array" if connection == "unipolar" or (five and connection is None) else "driver"


# What four switched coils or a two-phase driver can turn.
_TWO_PHASE = ("bipolar-4", "unipolar-5", "unipolar-6", "split-8")


def check_drivable(kind: Kind, facts: Mapping[str, Mapping[str, Any]]) -> None:
    """Raises Fault for a motor, known by its windings, that this drive can't turn. ``facts`` are its saved stages."""
    windings = facts.get("windings") or {}
    arrangement = str(windings.get("arrangement") or "unknown")
    if arrangement == "unknown" or float(windings.get("confidence", 0)) < NAMED_FROM:
        return
    unipolar = (facts.get("connection") or {}).get("connection") == "unipolar"
    happened, remedy = "", "choose another drive for it"
    if arrangement not in _TWO_PHASE:
        happened = f"{arrangement} is no two-phase stepper motor: nothing here can turn it"
        remedy = "it wants a driver made for its kind"
    elif kind == "bridge" and arrangement == "unipolar-5":
        happened = "five leads share one common: they can't run from a bridge"
        remedy = "take the transistor array"
    elif kind == "array" and arrangement == "bipolar-4":
        happened = "two plain coils can't run from a transistor array"
        remedy = "take a step/direction driver or the dual H-bridge"
    elif kind == "driver" and arrangement == "unipolar-5" and not unipolar:
        happened = "five leads share one common: a bipolar driver can't take them"
        remedy = "take the transistor array, or choose a unipolar driver in the connection stage"
    if happened:
        raise Fault(happened, title="Not with this drive", remedy=remedy)


def driver_cautions(facts: Mapping[str, Mapping[str, Any]]) -> tuple[str, ...]:
    """What to mind with a step/direction driver, from the motor's saved stages."""
    if (facts.get("connection") or {}).get("connection") != "unipolar":
        return ()
    return ("wired as drawn this motor wants a unipolar driver; a bipolar chopper can't take it so",)


def no_current_words(kind: Kind, facts: Mapping[str, Mapping[str, Any]]) -> str:
    """What to mind before the first turn where no current was worked out for this motor; else empty.

    ``facts`` are its saved stages. A driver has a limit to set; coil lines take what supply and coil make.
    """
    saved = facts.get("driver" if kind == "driver" else "ratings") or {}
    if saved.get("peak_ampere" if kind == "driver" else "current_ampere"):
        return ""
    if kind == "driver":
        return (
            "no current is set for this motor: turn the driver's limit to its lowest first, or it may burn; "
            "the stages ratings and driver tell what to set"
        )
    return (
        "no current is known for this motor: begin with a low supply voltage, and feel whether it gets hot; "
        "the stage ratings tells what it can take"
    )
