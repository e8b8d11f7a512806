"""All that is known of one motor, by stage."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from coilbench.records.saved.base import Fact

F = TypeVar("F", bound=Fact)


class Facts:
    """What the stages have found out about one motor; looked up by the record's own type."""

    def __init__(self, by_stage: Mapping[str, Fact] | None = None) -> None:
        self._by_stage = dict(by_stage or {})

    def get(self, kind: type[F]) -> F | None:
        """What is known of this kind, None for nothing."""
        found = self._by_stage.get(kind.stage)
        return found if isinstance(found, kind) else None

    def __contains__(self, stage: object) -> bool:
        return stage in self._by_stage

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Facts) and self._by_stage == other._by_stage

    __hash__ = None  # type: ignore[assignment]
