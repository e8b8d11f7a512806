"""The jog: how fast the motor starts and runs without skipping, and the trials that tell."""

from __future__ import annotations

from dataclasses import field
from typing import ClassVar, Literal

from coilbench.records.saved.base import Count, Event, Fact, Figure, Microsteps, NotNegative, Positive, Text, record

Rates = tuple[NotNegative, NotNegative]


@record
class SavedShaft:
    """What turns and what watches it (``motion.trials.Shaft``)."""

    steps_per_turn: Count
    gear: Positive = 1.0
    flag_on: Literal["rotor", "output"] = "output"
    sensor: bool = False


@record
class SavedDrive:
    """What drives the motor (``board.session.drive.Drive``): ``form`` for coil lines, ``microsteps`` for a driver."""

    BRIEF: ClassVar[bool] = True

    kind: Literal["driver", "array", "bridge"] = "driver"
    form: Literal["wave", "full", "half"] = "full"
    microsteps: Microsteps = 1


@record
class FoundWith:
    """What a figure was found with; figures of another shaft, supply, current or microsteps are other figures.

    ``on_shaft``: nothing, something coupled to it, or all of its machine. ``peak_ampere`` is the driver's limit.
    Inertias and the load's torque are what was typed, for estimates.
    """

    BRIEF: ClassVar[bool] = True

    on_shaft: Literal["bare", "coupled", "machine"] = "bare"
    supply_volt: Positive | None = None
    peak_ampere: Positive | None = None
    microsteps: Microsteps | None = None
    rotor_inertia_kilogram_metre2: Positive | None = None
    load_inertia_kilogram_metre2: Positive | None = None
    load_newton_metre: Positive | None = None
    holding_newton_metre: Positive | None = None


@record
class SavedSwing:
    """The small swings' frequency as it was measured, with its 90 % interval, hertz; and with what."""

    hz: Positive
    low_hz: Positive
    high_hz: Positive
    steps_per_turn: Count = 200
    found_with: FoundWith = FoundWith()


@record
class Figures:
    """What was found on one drive, full steps/s and steps/s2; ``run_acceleration_sps2`` is what the run sped up with.

    ``proved`` counts, by question, the clean proving moves behind a working figure; ``shaft`` is as it was then;
    ``way_back_sps`` is what the trials came back at. ``found_with`` says, by question, what each figure belongs to;
    ``scanned`` that low speeds were looked through for resonance. ``swings``: one for each state of the shaft.
    """

    drive: SavedDrive = SavedDrive()
    start_rate_sps: Positive | None = None
    run_rate_sps: Positive | None = None
    working_rate_sps: Positive | None = None
    acceleration_sps2: Positive | None = None
    run_acceleration_sps2: Positive | None = None
    interval: tuple[Positive, Positive] | None = None
    resonance_sps: tuple[Positive, ...] = ()
    resonance_bands_sps: tuple[Rates, ...] = ()
    proved: dict[Text, Count] = field(default_factory=dict)
    shaft: SavedShaft | None = None
    way_back_sps: Positive | None = None
    found_with: dict[Text, FoundWith] = field(default_factory=dict)
    scanned: bool = False
    swings: tuple[SavedSwing, ...] = ()


@record
class Jog(Fact):
    """What was found on each drive, the last one used first: figures of one never replace those of another."""

    stage: ClassVar[str] = "jog"

    drives: tuple[Figures, ...] = ()


@record
class SavedPlan:
    """What a search (``motion.search_plan.SearchPlan``), a scan (``motion.resonance.ScanPlan``) or comparisons for
    the swing (``motion.swing.SwingPlan``) set out to do."""

    BRIEF: ClassVar[bool] = True

    question: Literal["start", "run", "acceleration", "resonance", "swing"]
    shaft: SavedShaft
    lowest: Positive | None = None
    highest: Positive | None = None
    start_rate_sps: Positive | None = None
    run_rate_sps: Positive | None = None
    acceleration_sps2: Positive | None = None
    back_rate_sps: Positive | None = None
    cruise_turns: Positive | None = None
    dwell_s: NotNegative | None = None
    width: Positive | None = None
    most_moves: Count | None = None
    answer_s: Positive | None = None
    remark_s: NotNegative | None = None
    avoid: tuple[Rates, ...] = ()
    back_rates_sps: tuple[Positive, ...] = ()
    lowest_sps: Positive | None = None
    highest_sps: Positive | None = None
    count: Count | None = None
    turns: Positive | None = None
    swing_hz: Positive | None = None
    expected_hz: Positive | None = None


@record
class SavedTrial:
    """One move (``motion.trials.Trial``)."""

    question: Literal["start", "run", "acceleration", "resonance", "swing", "prove", "back"]
    tested: Positive
    steps: Count
    start_rate_sps: Positive
    run_rate_sps: Positive
    acceleration_sps2: Positive
    back_rate_sps: Positive
    dwell_s: NotNegative


@record
class SavedOutcome:
    """What became of it (``motion.trials.Outcome``)."""

    kind: Literal["returned", "off", "unclear", "out worse", "back worse", "alike"]
    jumps: int | None = None
    missed_steps: Figure | None = None


@record
class SearchBegun(Event):
    """A search or a scan began on this drive."""

    stage: ClassVar[str] = "jog"

    kind: Literal["begin"] = "begin"
    plan: SavedPlan
    drive: SavedDrive = SavedDrive()
    found_with: FoundWith | None = None


@record
class TrialMade(Event):
    """A move was made and answered, by ``eye`` or by ``sensor``."""

    stage: ClassVar[str] = "jog"

    kind: Literal["trial"] = "trial"
    trial: SavedTrial
    outcome: SavedOutcome
    by: Text = "eye"


@record
class SlowTurn(Event):
    """The slow turn was looked at."""

    stage: ClassVar[str] = "jog"

    kind: Literal["turn"] = "turn"
    turned: Text


@record
class SearchEnded(Event):
    """The search was left; ``so_far`` where it had no result yet."""

    stage: ClassVar[str] = "jog"

    kind: Literal["end"] = "end"
    so_far: Text = ""


FACT = Jog
EVENT = SearchBegun | TrialMade | SlowTurn | SearchEnded
