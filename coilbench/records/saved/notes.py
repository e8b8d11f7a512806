"""What a person writes down about a motor: where it came from, a picture's path, anything else."""

from __future__ import annotations

from typing import ClassVar

from coilbench.records.saved.base import Fact, Text, record


@record
class Notes(Fact):
    """``origin`` is what the motor was taken out of, ``photo`` the path of a picture as it was given. One that is
    ``archived`` is passed over in the list."""

    stage: ClassVar[str] = "notes"
    BRIEF: ClassVar[bool] = True

    origin: Text = ""
    photo: Text = ""
    text: Text = ""
    archived: bool = False


FACT = Notes
EVENT = None
