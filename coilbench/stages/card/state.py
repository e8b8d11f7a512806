"""What a card says, before any decision how it looks. Its texts are as typed: whoever writes them escapes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from coilbench.stages.picture import Picture

NOT_KNOWN = "not known"
Form = Literal["text", "markdown", "html", "json"]
BY_ENDING: dict[str, Form] = {".html": "html", ".htm": "html", ".md": "markdown", ".json": "json"}
MADE_BY = "made by coilbench"  # stands in everything that is written, and tells it from other people's files


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing that is said; an empty text is one that isn't known."""

    name: str
    text: str = ""

    @property
    def known(self) -> bool:
        return bool(self.text)

    @property
    def says(self) -> str:
        """The text, or that it isn't known."""
        return self.text or NOT_KNOWN


@dataclass(frozen=True, slots=True)
class Section:
    """What is said of one matter."""

    title: str
    entries: tuple[Entry, ...]


@dataclass(frozen=True, slots=True)
class LeadLine:
    """A lead: its ``colour`` in words where its name is a code, its ``place`` in the windings, where it ``goes``."""

    lead: str
    colour: str = ""
    place: str = ""
    goes: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """What fits on a piece of tape. ``stop`` says why the motor must not be used, empty where it may; ``figures``
    are what to set, the current first."""

    motor: str
    kind: str
    leads: tuple[tuple[str, str], ...]
    figures: tuple[str, ...]
    stop: str
    day: str


@dataclass(frozen=True, slots=True)
class Card:
    """A motor's page. ``picture`` is None while the windings aren't sorted; ``drawn`` says what it shows."""

    motor: str
    kind: str
    day: str
    warnings: tuple[str, ...]
    picture: Picture | None
    drawn: str
    leads: tuple[LeadLine, ...]
    sections: tuple[Section, ...]
    cautions: tuple[str, ...]
    label: Label

    @property
    def not_known(self) -> tuple[str, ...]:
        """All that isn't known, by its section and name."""
        return tuple(
            f"{part.title}: {each.name}" for part in self.sections for each in part.entries if not each.known
        )


def as_json(card: Card) -> dict[str, Any]:
    """The card as one JSON-plain object; what isn't known is null."""
    return {
        "motor": card.motor,
        "kind": card.kind,
        "day": card.day,
        "warnings": list(card.warnings),
        "leads": [
            {"lead": each.lead, "colour": each.colour or None, "place": each.place or None, "goes": each.goes or None}
            for each in card.leads
        ],
        "sections": [
            {
                "title": part.title,
                "entries": [{"name": each.name, "text": each.text or None} for each in part.entries],
            }
            for part in card.sections
        ],
        "not_known": list(card.not_known),
        "cautions": list(card.cautions),
        "label": {
            "leads": [{"lead": lead, "goes": goes or None} for lead, goes in card.label.leads],
            "figures": list(card.label.figures),
            "stop": card.label.stop or None,
        },
    }
