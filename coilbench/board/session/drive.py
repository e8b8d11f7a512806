"""What stands between the board and the motor while it is jogged: a driver, or the board's own coil lines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from coilbench.errors import InputProblem

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
