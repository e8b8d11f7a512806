"""What a motor's saved stages say that matters to its driver."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class KnownMotor:
    """Per phase as connected: current (peak, two phases on), resistance and inductance; None where not known.

    ``basis`` says where they come from.
    """

    current_ampere: float | None = None
    coil_ohm: float | None = None
    inductance_henry: float | None = None
    connection: str | None = None
    half_winding: bool = False  # the figures are those of one half-winding, no connection is chosen yet
    basis: str = ""


def known_motor(stages: Mapping[str, Mapping[str, Any]]) -> KnownMotor:
    """Read the saved stages of a motor, the chosen connection first, then its ratings, then its windings."""
    windings = stages.get("windings") or {}
    plain = windings.get("arrangement") == "bipolar-4"
    if connection := stages.get("connection"):
        name = connection.get("connection")
        return KnownMotor(*_figures(connection), name, basis=f"its connection, {name}")
    if ratings := stages.get("ratings"):
        if plain:
            return KnownMotor(*_figures(ratings), "bipolar", basis="its ratings")
        return KnownMotor(
            *_figures(ratings),
            half_winding=True,
            basis="its ratings for one half-winding; choose the connection first",
        )
    ohms = [coil["ohms"] for coil in windings.get("coils") or [] if coil.get("ohms")]
    if plain and ohms:
        return KnownMotor(None, sum(ohms) / len(ohms), None, "bipolar", basis="its windings; no current is known yet")
    return KnownMotor()


def _figures(fact: Mapping[str, Any]) -> tuple[float | None, float | None, float | None]:
    return fact.get("current_ampere"), fact.get("resistance_ohm"), fact.get("inductance_henry")
