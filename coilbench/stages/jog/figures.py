"""What was found of a motor: one set of figures for each drive.

A motor holds other rates on a chopper than on four switched coil lines: figures found with one drive never replace
those of another.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from coilbench.board.session.drive import Drive
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.jog import Figures, Jog
from coilbench.stages.jog.found_with import ON_SHAFT_WORDS, stale_words
from coilbench.stages.jog.saved import drive_of, saved_drive
from coilbench.stages.jog.swings import swing_words
from coilbench.stages.stage import Known

if TYPE_CHECKING:
    from coilbench.motion.resonance import Band
    from coilbench.motion.search import SearchSummary

SHORT = {"start": "start-stop", "run": "slew", "acceleration": "acceleration"}  # where there is no room for more
_FIGURES = {"start": "start_rate_sps", "run": "run_rate_sps", "acceleration": "acceleration_sps2"}


def figures_of(jog: Jog | None, drive: Drive) -> Figures:
    """What is saved of a motor on this drive; all unknown when nothing is."""
    for each in jog.drives if jog is not None else ():
        if drive_of(each.drive).key == drive.key:
            return replace(each, drive=saved_drive(drive))
    return Figures(drive=saved_drive(drive))


def with_figures(jog: Jog | None, figures: Figures) -> Jog:
    """The motor's saved result with these figures in front; those of other drives stay."""
    key = drive_of(figures.drive).key
    others = [each for each in (jog.drives if jog is not None else ()) if drive_of(each.drive).key != key]
    return Jog(drives=(figures, *others))


def with_search(figures: Figures, found: SearchSummary, acceleration_sps2: float) -> Figures:
    """One drive's figures with a search's finding put in; one without a working figure leaves them as they are.

    ``acceleration_sps2`` is what the trials sped up with: it goes with a run, and is no finding.
    """
    if found.working_sps is None:
        return figures
    new: dict[str, Any] = {
        _FIGURES[found.question]: found.working_sps,
        "proved": {**figures.proved, found.question: found.proved},
    }
    if found.question == "run":
        new["run_acceleration_sps2"] = acceleration_sps2
    if found.question == "run" or (found.question == "start" and figures.run_rate_sps is None):
        new |= {"working_rate_sps": found.working_sps, "interval": found.interval_sps}
    return replace(figures, **new)


def with_bands(figures: Figures, bands: Iterable[Band]) -> Figures:
    """One drive's figures with the bands of resonance that a scan found."""
    bands = tuple(bands)
    return replace(
        figures,
        resonance_sps=tuple(float(round(band.middle_sps)) for band in bands),
        resonance_bands_sps=tuple((band.low_sps, band.high_sps) for band in bands),
    )


def figures_known(jog: Jog | None, driver: Driver | None = None) -> list[Known]:
    """What is saved, for a narrow column; each drive by itself, the last one used first.

    A figure says what was on the shaft, and what the ``driver`` is set to now that it was not found with.
    """
    lines: list[Known] = []
    drives = jog.drives if jog is not None else ()
    for each in drives:
        drive = drive_of(each.drive)
        if len(drives) > 1 or drive.by_coils:
            lines.append(Known("drive", drive.words))
        for question, label in SHORT.items():
            if found := getattr(each, _FIGURES[question]):
                proved = f", proved {times(count)}" if (count := each.proved.get(question)) else ""
                unit = "steps/s²" if question == "acceleration" else "steps/s"
                lines.append(Known(label, f"{found:.0f} {unit}{proved}{_with_words(each, question, driver)}"))
        peak = None if driver is None or drive.by_coils else driver.peak_ampere
        lines += [Known("swing", swing_words(swing, peak)) for swing in each.swings]
        if each.resonance_sps:
            lines.append(Known("resonance", ", ".join(f"{rate:.0f}" for rate in each.resonance_sps) + " steps/s"))
    return lines


def _with_words(figures: Figures, question: str, driver: Driver | None) -> str:
    then = figures.found_with.get(question)
    if then is None:
        return ""
    stale = stale_words(then, driver) if figures.drive.kind == "driver" else ""
    return f", {ON_SHAFT_WORDS[then.on_shaft]}{f'; stale: {stale}' if stale else ''}"


def times(count: int) -> str:
    """So many times, in words."""
    return "once" if count == 1 else f"{count} times"
