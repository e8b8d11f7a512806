"""What was found of a motor, as it is saved: one set of figures for each drive.

A motor holds other rates on a chopper than on four switched coil lines: figures found with one drive never replace
those of another.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from coilbench.board.session.drive import Drive

if TYPE_CHECKING:
    from coilbench.motion.resonance import Band
    from coilbench.motion.search import SearchSummary

# Full steps/s, steps/s2; ``proved`` counts the clean proving moves behind a working figure, ``shaft`` as it was then.
NO_FIGURES: Mapping[str, Any] = {
    "start_rate_sps": None,
    "run_rate_sps": None,
    "working_rate_sps": None,
    "acceleration_sps2": None,
    "interval": None,
    "resonance_sps": [],
    "resonance_bands_sps": [],
    "proved": {},
    "shaft": None,
}
_RATES = {"start": "start_rate_sps", "run": "run_rate_sps", "acceleration": "acceleration_sps2"}


def drive_of(fact: Mapping[str, Any]) -> Drive:
    """The drive that a saved result was found with; those saved before drives were told apart are a driver's."""
    plain = fact.get("drive")
    return Drive.from_dict(plain) if plain else Drive(microsteps=int(fact.get("microsteps") or 1))


def figures_of(fact: Mapping[str, Any] | None, drive: Drive) -> dict[str, Any]:
    """What is saved of a motor on this drive; all unknown when nothing is."""
    for each in all_figures(fact):
        if drive_of(each).key == drive.key:
            return {name: each.get(name, unknown) for name, unknown in NO_FIGURES.items()}
    return dict(NO_FIGURES)


def all_figures(fact: Mapping[str, Any] | None) -> list[Mapping[str, Any]]:
    """The saved result of each drive, that of the last one used first."""
    return [] if not fact else [fact, *(fact.get("others") or [])]


def with_figures(fact: Mapping[str, Any] | None, drive: Drive, figures: Mapping[str, Any]) -> dict[str, Any]:
    """The motor's saved result, ``figures`` of this drive in front; those of other drives stay, under ``others``."""
    others = [
        {name: value for name, value in each.items() if name != "others"}
        for each in all_figures(fact)
        if drive_of(each).key != drive.key
    ]
    return {
        **figures_of(fact, drive),
        **figures,
        "microsteps": drive.microsteps,
        "drive": drive.as_dict(),
        "others": others,
    }


def with_search(figures: Mapping[str, Any], found: SearchSummary, acceleration_sps2: float) -> dict[str, Any]:
    """One drive's figures with a search's finding put in; one without a working figure leaves them as they are."""
    if found.working_sps is None:
        return dict(figures)
    new: dict[str, Any] = {**figures, _RATES[found.question]: found.working_sps}
    new["proved"] = {**figures["proved"], found.question: found.proved}
    if found.question == "run":
        new["acceleration_sps2"] = acceleration_sps2
    if found.question == "run" or (found.question == "start" and not figures["run_rate_sps"]):
        new["working_rate_sps"], new["interval"] = found.working_sps, list(found.interval_sps)
    return new


def with_bands(figures: Mapping[str, Any], bands: Iterable[Band]) -> dict[str, Any]:
    """One drive's figures with the bands of resonance that a scan found."""
    bands = tuple(bands)
    return {
        **figures,
        "resonance_sps": [round(band.middle_sps) for band in bands],
        "resonance_bands_sps": [[band.low_sps, band.high_sps] for band in bands],
    }
