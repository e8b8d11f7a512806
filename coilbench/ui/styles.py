"""Styles, parsed once: for the screens that come later and for a theme that was shown before, too."""

from __future__ import annotations

from typing import TYPE_CHECKING

from textual.css.stylesheet import Stylesheet

if TYPE_CHECKING:
    from textual.css.model import RuleSet
    from textual.css.types import CSSLocation

_PARSED: dict[tuple[object, ...], list[RuleSet]] = {}


class KeptStyles(Stylesheet):
    """What the library has parsed anew for each screen that brings styles of its own is taken as it was parsed."""

    _colours: tuple[tuple[str, str], ...] = ()

    def set_variables(self, variables: dict[str, str]) -> None:
        super().set_variables(variables)
        self._colours = tuple(variables.items())

    def _parse_rules(
        self,
        css: str,
        read_from: CSSLocation,
        is_default_rules: bool = False,
        tie_breaker: int = 0,
        scope: str = "",
    ) -> list[RuleSet]:
        of = (self._colours, css, read_from, is_default_rules, tie_breaker, scope)
        if of not in _PARSED:
            _PARSED[of] = super()._parse_rules(css, read_from, is_default_rules, tie_breaker, scope)
        return _PARSED[of]

    def reparse(self) -> None:
        self.parse()
