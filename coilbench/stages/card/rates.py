"""What a card says of the speeds that were proved: each with what it was found with."""

from __future__ import annotations

from coilbench.records.saved.driver import Driver
from coilbench.records.saved.facts import Facts
from coilbench.records.saved.jog import Figures, Jog
from coilbench.stages import motor
from coilbench.stages.card.state import Entry, Section

_RATES = (("start-stop", "start", "start_rate_sps"), ("slew", "run", "run_rate_sps"))
_MOST_DRIVES = 2


def of_rates(known: Facts) -> Section:
    """The working figures of each drive, the one used last first."""
    jog = known.get(Jog)
    drives = jog.drives if jog is not None else ()
    if not drives:
        return Section("working rates", tuple(map(Entry, ("start-stop", "slew", "resonance"))))
    from coilbench.stages.jog.saved import drive_of

    entries: list[Entry] = []
    for each in drives[:_MOST_DRIVES]:
        drive = drive_of(each.drive)
        if len(drives) > 1 or drive.by_coils:
            entries.append(Entry("drive", drive.words))
        entries += _of_drive(each, known)
    if len(drives) > _MOST_DRIVES:
        entries.append(Entry("more", f"{len(drives) - _MOST_DRIVES} more drive(s) in the bin"))
    return Section("working rates", tuple(entries))


def _of_drive(figures: Figures, known: Facts) -> list[Entry]:
    entries = []
    for name, question, key in _RATES:
        rate: float | None = getattr(figures, key)
        if rate is None:
            entries.append(Entry(name))
            continue
        steps = _steps_per_turn(figures, known)
        turns = "" if steps is None else f", {60 * rate / steps:.0f} rpm"
        entries.append(Entry(name, f"{rate:.0f} steps/s{turns}; {_conditions(figures, question, known)}"))
    if figures.acceleration_sps2 is not None:
        found = f"{figures.acceleration_sps2:.0f} steps/s²; {_conditions(figures, 'acceleration', known)}"
        entries.append(Entry("acceleration", found))
    elif figures.run_acceleration_sps2 is not None:
        entries.append(
            Entry("acceleration", f"{figures.run_acceleration_sps2:.0f} steps/s² in the slew rate's trials")
        )
    return [*entries, Entry("resonance", _resonance(figures))]


def _conditions(figures: Figures, question: str, known: Facts) -> str:
    from coilbench.stages.jog.figures import times
    from coilbench.stages.jog.found_with import found_with_words, stale_words

    then = figures.found_with.get(question)
    words = [found_with_words(then)]
    if count := figures.proved.get(question):
        words.append(f"proved {times(count)}")
    stale = stale_words(then, known.get(Driver)) if figures.drive.kind == "driver" else ""
    return ", ".join(words) + (f"; STALE: {stale}" if stale else "")


def _resonance(figures: Figures) -> str:
    from coilbench.stages.jog.swings import swing_words

    if figures.resonance_bands_sps:
        return (
            "avoid "
            + ", ".join(f"{low:.0f} to {high:.0f}" for low, high in figures.resonance_bands_sps[:4])
            + (" steps/s")
        )
    if figures.resonance_sps:
        return "at " + ", ".join(f"{rate:.0f}" for rate in figures.resonance_sps[:4]) + " steps/s"
    if figures.scanned:
        return "looked for, none found"
    return "; ".join(
        f"it swings at {swing_words(each)}: shakes in full steps near that" for each in figures.swings[:2]
    )


def _steps_per_turn(figures: Figures, known: Facts) -> float | None:
    """Full steps in a turn of the rotor: as the trials had it, else by the step angle."""
    if figures.shaft is not None and figures.shaft.steps_per_turn:
        return figures.shaft.steps_per_turn
    angle = motor.step_angle_degree(known)
    return None if angle is None else 360 / angle
