"""Motors with all that a card can tell, and those that try what can go wrong on it."""

from __future__ import annotations

import math
from dataclasses import replace

from coilbench.records import writing
from coilbench.records.saved.base import Fact
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.jog import Figures, FoundWith, Jog, SavedDrive, SavedShaft
from coilbench.records.saved.notes import Notes
from coilbench.records.saved.order import Order
from coilbench.records.saved.ratings import Ratings, SoakResult
from coilbench.records.saved.windings import Coil, WindingFault, Windings
from coilbench.records.store import Bin
from coilbench.winding.readings.reading import FRAME, Reading
from tests.support.motors import EIGHT, EIGHT_LEADS, FIVE, IN_ORDER, PAIRED, RATED, SIX

INTAKE = Intake(
    frame="NEMA 23", length_metre=0.056, label="12V 24 ohm 200 steps", step_angle_degree=1.8, diameter_metre=0.0564
)
WORKED = FoundWith(on_shaft="coupled", supply_volt=24.0, peak_ampere=0.233, microsteps=16)
BY_DRIVER = Figures(
    drive=SavedDrive(kind="driver", microsteps=16),
    start_rate_sps=640.0,
    run_rate_sps=1900.0,
    acceleration_sps2=4000.0,
    resonance_sps=(105.0,),
    resonance_bands_sps=((92.0, 118.0),),
    proved={"start": 5, "run": 4},
    shaft=SavedShaft(steps_per_turn=200),
    found_with={"start": WORKED, "run": WORKED, "acceleration": WORKED},
    scanned=True,
)
SERIES = Connection(connection="series", current_ampere=0.233, resistance_ohm=48.2, inductance_henry=0.08)
SET = Driver(chip="A4988", peak_ampere=0.233, sense_ohm=0.1, vref_volt=0.1864, supply_volt=24.0, microsteps=16)
HALF = Ratings(
    current_ampere=0.33,
    estimate_ampere=0.41,
    low_ampere=0.33,
    high_ampere=0.5,
    rise_kelvin=60.0,
    resistance_ohm=24.1,
    inductance_henry=0.02,
    holding_torque_newton_metre=0.42,
    step_angle_degree=1.8,
    basis=("the size of its face and body", "its cold ohms"),
)
NOTES = Notes(origin="wide printer, carriage", photo="photos/m02.jpg", text="shaft 6.35 mm with a flat; hums at 100")

SIX_IN_ORDER = replace(IN_ORDER, sequence=("RD", "GN", "BU", "BK"), reverse=("RD", "BK", "BU", "GN"))

# The markup of every medium a card is written in, and a turned line.
NASTY = "<img src=x onerror=alert(1)> &amp; \"'| `x` [a](http://b) **c** ~~~ {{ =1+1 \u202eback"
LONG = "W" * 80
HOT_NAMES = ("<b>RD</b>", "a|b", "`GN`", "\"&'")
NASTY_WINDINGS = Windings(
    arrangement="bipolar-4",
    confidence=0.99,
    coils=(
        Coil(name="A", ends=HOT_NAMES[:2], ohms=2.4, ohms_sd=0.1),
        Coil(name="B", ends=HOT_NAMES[2:], ohms=2.5, ohms_sd=0.1),
    ),
    readings=5,
)


def put(bin_: Bin, name: str, leads: tuple[str, ...], *facts: Fact) -> str:
    """A motor with these facts; its name."""
    bin_.add_motor(name, leads)
    for fact in facts:
        writing.derive(bin_, name, fact)
    return name


def whole(bin_: Bin, name: str = "M-02") -> str:
    """A six-lead motor that has been through every stage."""
    leads = ("BK", "YE", "GN", "RD", "WH", "BU")
    put(
        bin_,
        name,
        leads,
        INTAKE,
        replace(SIX, readings=9),
        SIX_IN_ORDER,
        HALF,
        SERIES,
        SET,
        Jog(drives=(BY_DRIVER,)),
        NOTES,
    )
    writing.add_reading(bin_, name, Reading("RD", FRAME, math.inf))
    return name


def unsorted(bin_: Bin, name: str = "M-10") -> str:
    """One of which nothing but its leads is known."""
    return put(bin_, name, ("1", "2", "3", "4"))


def leaky(bin_: Bin, name: str = "M-06") -> str:
    """One that conducts to its frame, set up before that was found."""
    faulty = Windings(
        arrangement=SIX.arrangement,
        confidence=0.99,
        coils=SIX.coils,
        faults=(WindingFault(kind="frame", leads=("RD",)),),
        readings=9,
    )
    return put(bin_, name, ("BK", "YE", "GN", "RD", "WH", "BU"), faulty, HALF, SERIES, SET)


def five(bin_: Bin, name: str = "M-03") -> str:
    """Five leads, in order, not connected."""
    return put(bin_, name, ("RD", "YE", "BU", "BK", "WH"), FIVE, IN_ORDER)


def eight(bin_: Bin, name: str = "M-04", connection: str = "parallel") -> str:
    """Eight leads, paired and connected."""
    joined = Connection(connection=connection, current_ampere=2.5, resistance_ohm=0.7, inductance_henry=0.0032)
    return put(bin_, name, tuple(EIGHT_LEADS.split()), EIGHT, PAIRED, RATED, joined)


def by_common(bin_: Bin, name: str = "M-05") -> str:
    """Six leads on a unipolar driver, long names."""
    joined = Connection(connection="unipolar", current_ampere=0.33, resistance_ohm=24.1)
    coils = (
        Coil(name="A", ends=("turquoise/white", "BU"), tap="common of phase A", ohms=48.2, ohms_sd=0.3),
        Coil(name="B", ends=("GN", "BK"), tap="common of phase B", ohms=48.2, ohms_sd=0.3),
    )
    leads = ("turquoise/white", "BU", "common of phase A", "GN", "BK", "common of phase B", "RD", "PK")
    windings = replace(SIX, coils=coils, spare=("RD", "PK"))
    return put(bin_, name, leads, windings, HALF, joined)


def ring(bin_: Bin, name: str = "M-08") -> str:
    """A ring of ten leads' worth: the tallest drawing there is."""
    leads = tuple("ABCDEFGHIJ")
    coils = tuple(
        Coil(name=str(at), ends=(leads[2 * at], leads[2 * at + 1]), ohms=1.1, ohms_sd=0.1) for at in range(5)
    )
    return put(bin_, name, leads, Windings(arrangement="five-phase-10", confidence=0.99, coils=coils, readings=20))


def nasty(bin_: Bin, name: str = "<script>alert(1)</script> |*") -> str:
    """One whose every text is markup somewhere."""
    notes = Notes(origin=NASTY, photo=NASTY, text=NASTY)
    intake = Intake(label=NASTY, frame=NASTY)
    return put(bin_, name, HOT_NAMES, intake, NASTY_WINDINGS, notes)


def fullest(bin_: Bin, name: str = "X" * 80) -> str:
    """One with more of everything than a page has room for: what is too long is cut with a sign, the rest fits."""
    long = " ".join([LONG] * 20)
    names = tuple(f"{letter}{'m' * 23}" for letter in "abcdefgh")
    halves = tuple((names[at], names[at + 1]) for at in range(0, 8, 2))
    windings = Windings(
        arrangement="split-8",
        confidence=0.96,
        coils=tuple(Coil(name=n, ends=e, ohms=1.4, ohms_sd=0.05) for n, e in zip("ABCD", halves, strict=True)),
        cannot_tell=(long,),
        readings=30,
    )
    order = Order(halves={"A": halves[:2], "B": halves[2:]}, sequence=names[:4], done=True, direction_known=False)
    figures = tuple(
        Figures(
            drive=drive,
            start_rate_sps=640.123,
            run_rate_sps=12345.6,
            acceleration_sps2=123456.0,
            resonance_bands_sps=tuple((100.0 * at, 100.0 * at + 50) for at in range(1, 9)),
            proved={"start": 12, "run": 11, "acceleration": 10},
            found_with=dict.fromkeys(("start", "run", "acceleration"), WORKED),
        )
        for drive in (
            SavedDrive(kind="driver", microsteps=16),
            SavedDrive(kind="array", form="half"),
            SavedDrive(kind="bridge", form="full"),
            SavedDrive(kind="bridge", form="half"),
        )
    )
    rated = Ratings(
        current_ampere=3.0,
        estimate_ampere=3.3,
        low_ampere=2.5,
        high_ampere=3.9,
        rise_kelvin=60,
        resistance_ohm=1.4,
        inductance_henry=0.0032,
        holding_torque_newton_metre=1.9,
        basis=(long,) * 9,
        soak=SoakResult(winding_celsius=84, rise_kelvin=61, plus_minus_kelvin=5),
    )
    joined = Connection(connection="series", current_ampere=2.1, resistance_ohm=2.8, inductance_henry=0.0128)
    driven = Driver(chip=long, peak_ampere=1.0, sense_ohm=0.1, vref_volt=0.8, supply_volt=12.0, microsteps=8)
    notes = Notes(origin=long, photo=long, text=long)
    intake = Intake(frame=long, label=long, diameter_metre=0.057, length_metre=0.056)
    put(bin_, name, names, intake, windings, order, rated, joined, driven, Jog(drives=figures), notes)
    writing.add_reading(bin_, name, Reading(names[0], FRAME, 2e7))
    return name


ALL = (whole, unsorted, leaky, five, eight, by_common, ring, nasty, fullest)
