"""What a person writes down about a motor, and whether it is still one to choose from; each is one act for undo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from coilbench.plain_text import cleaned
from coilbench.records import tidying
from coilbench.records.saved.notes import Notes
from coilbench.records.store import Bin
from coilbench.stages.desk import Desk, desk_of

_NAMED = 3  # more are counted


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
        with tidying.act(desk.bin, f"what was noted of {desk.motor}", desk.motor):
            desk.keep(Notes.stage, notes)
    return notes


def archive(bin: Bin, names: Sequence[str], *, back: bool = False) -> None:
    """Put motors away, or take them ``back`` out of the archive, all or none. Raises InputProblem."""
    desks = [desk_of(bin, name) for name in names]
    with tidying.act(bin, f"{_together(names)} {'out of the archive' if back else 'archived'}", *names):
        for desk in desks:
            before = desk.known.get(Notes) or Notes()
            if before.archived == back:
                desk.keep(Notes.stage, replace(before, archived=not back))


def delete(bin: Bin, names: Sequence[str]) -> None:
    """Take motors and all that is known of them out of the bin, all or none. Raises InputProblem."""
    bin.back_up()
    with tidying.act(bin, f"{_together(names)} deleted", *names):
        for name in names:
            bin.delete_motor(name)


def _together(names: Sequence[str]) -> str:
    return ", ".join(names) if len(names) <= _NAMED else f"{len(names)} motors"


def archived(bin: Bin) -> frozenset[str]:
    """The motors that are put away."""
    known = bin.known_of_all(Notes.stage)
    return frozenset(name for name, facts in known.items() if (facts.get(Notes) or Notes()).archived)
