"""What a person writes down about a motor, and whether it is still one to choose from."""

from __future__ import annotations

from dataclasses import replace

from coilbench.plain_text import cleaned
from coilbench.records.saved.notes import Notes
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk


def write_down(
    desk: Desk,
    *,
    origin: str | None = None,
    photo: str | None = None,
    text: str | None = None,
    archived: bool | None = None,
) -> Notes:
    """Keep what is given, in place of what was noted before; None leaves it as it is. Raises InputProblem."""
    before = desk.known.get(Notes) or Notes()
    given = {"origin": origin, "photo": photo, "text": text}
    texts = {name: cleaned(each).strip() for name, each in given.items() if each is not None}
    notes = replace(before, **texts, **({} if archived is None else {"archived": archived}))  # type: ignore[arg-type]
    if notes != before:
        desk.keep(Notes.stage, notes)
    return notes


def archived(bin: Bin) -> frozenset[str]:
    """The motors that are put away."""
    known = bin.known_of_all(Notes.stage)
    return frozenset(name for name, facts in known.items() if (facts.get(Notes) or Notes()).archived)
