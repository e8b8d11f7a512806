"""What stands first at each stage: one thing, in at most three lines, and the rest behind it."""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from dataclasses import replace

import pytest

from coilbench.records.saved.base import Fact
from coilbench.records.saved.jog import Figures, Jog
from coilbench.records.saved.windings import WindingFault
from coilbench.stages.connection.stage import ConnectionStage
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.stages.driver.stage import DriverStage
from coilbench.stages.form import FormStage
from coilbench.stages.head import NOTHING, Head
from coilbench.stages.intake import IntakeStage
from coilbench.stages.jog.stage import JogStage
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.ratings.stage import RatingsStage
from coilbench.stages.windings.stage import WindingsStage
from coilbench.winding.readings.reading import Reading
from tests.support.motors import EIGHT, EIGHT_LEADS, FIVE, PAIRED, RATED, SIX

WIDTH = 64  # cells for a head at 80 columns
BESIDE = 46  # and beside a large figure


def desk_of(*facts: Fact, leads: str = EIGHT_LEADS) -> Desk:
    desk = scratch_desk(leads.split())
    for fact in facts:
        desk.keep(fact.stage, fact)
    return desk


def form_head(make: Callable[[Desk], FormStage], *facts: Fact, **texts: str) -> Head:
    stage = make(desk_of(*facts))
    return stage.head({**stage.texts(), **texts})


def windings_head(*readings: tuple[str, str, float], leads: str = "RD BU WH BK") -> Head:
    stage = WindingsStage(desk_of(leads=leads))
    stage.load(Reading(*each) for each in readings)
    return stage.work_out().head


FOUR_READ = [("RD", "BU", 48.0), ("WH", "BK", 48.0), ("RD", "WH", float("inf")), ("RD", "frame", float("inf"))]
FOUR_READ += [("WH", "frame", float("inf"))]
CHOSEN = {"chip": "A4988", "sense": "R100", "supply": "24 V"}
LEAKS = replace(SIX, faults=(WindingFault(kind="frame", leads=(SIX.coils[0].ends[0],)),))

HEADS = {
    "intake": lambda: form_head(IntakeStage),
    "windings, the first reading": windings_head,
    "windings, on the way": lambda: windings_head(*FOUR_READ[:2]),
    "windings, sorted": lambda: windings_head(*FOUR_READ),
    "windings, leaking": lambda: windings_head(
        *FOUR_READ[:3], *((lead, "frame", 900.0) for lead in ("RD", "BU", "WH", "BK"))
    ),
    "order, a test": lambda: OrderStage(desk_of(FIVE, leads="RD OG YE PK BU")).head,
    "order, another test": lambda: OrderStage(desk_of(EIGHT)).head,
    "order, known": lambda: OrderStage(desk_of(EIGHT, PAIRED)).head,
    "order, before the windings": lambda: OrderStage(desk_of()).head,
    "ratings, nothing": lambda: form_head(RatingsStage),
    "ratings": lambda: form_head(RatingsStage, EIGHT, frame="NEMA 23"),
    "ratings, a leaking motor": lambda: form_head(RatingsStage, LEAKS),
    "connection, nothing": lambda: form_head(ConnectionStage),
    "connection": lambda: form_head(ConnectionStage, EIGHT, PAIRED, RATED, supply="24"),
    "connection, another": lambda: form_head(ConnectionStage, EIGHT, PAIRED, RATED, take="half-coil"),
    "connection, unpaired": lambda: form_head(ConnectionStage, EIGHT, RATED),
    "driver, nothing": lambda: form_head(DriverStage),
    "driver": lambda: form_head(DriverStage, EIGHT, PAIRED, RATED, **CHOSEN, current="0.6 A"),
    "driver, measured": lambda: form_head(DriverStage, **CHOSEN, measured="0.4 V"),
    "driver, no chopper": lambda: form_head(DriverStage, SIX, RATED, chip="ULN2003A", supply="12 V"),
    "jog": lambda: JogStage(desk_of()).head,
    "jog, found": lambda: (
        JogStage(
            desk_of(Jog(drives=(Figures(start_rate_sps=900.0, working_rate_sps=1200.0, run_rate_sps=1200.0),)))
        ).head
    ),
}


@pytest.mark.parametrize("name", HEADS)
def test_a_head_says_one_thing_in_three_lines_and_what_to_do(name: str) -> None:
    head = HEADS[name]()
    assert head.says and (head.act or head.kind == "stop"), head
    if head.kind == "stop":
        return  # said whole, however long
    if head.figure:
        assert all(len(line) <= BESIDE for line in (head.says, head.doubt, head.act)), head
    assert sum(len(textwrap.wrap(line, WIDTH)) for line in head.lines) <= 3, head
    said = {head.says, head.doubt, head.act} - {""}
    assert not said & set(head.why), "nothing is said twice"


@pytest.mark.parametrize(
    ("name", "figure", "says"),
    [
        # Pololu A4988 carrier: VREF = 8 x I x Rs; 0.6 A on 0.1 ohm is 0.48 V.
        ("driver", "0.48 V", "VREF"),
        ("driver, measured", "0.5 A", "peak"),
        ("jog, found", "1200", "steps/s"),
    ],
)
def test_where_the_answer_is_a_figure_it_stands_alone(name: str, figure: str, says: str) -> None:
    head = HEADS[name]()
    assert (head.kind, head.figure) == ("answer", figure) and says in head.says


def test_the_current_to_start_with_is_the_one_figure_of_the_ratings() -> None:
    head = HEADS["ratings"]()
    low, high = head.doubt.split(",")[0].split(" to ")
    assert head.figure.endswith(" A") and float(head.figure[:-2]) <= float(low) < float(high[:-2])
    assert "RMS" in head.says and any("start" in each for each in head.why)


def test_a_connection_says_what_to_join_and_which_current_it_is() -> None:
    head = HEADS["connection"]()
    assert head.says.startswith("series: ") and "A peak" in head.says
    assert "join YE+BU" in head.act and head.act.startswith("A+ ")
    assert "advised is series" in HEADS["connection, another"]().doubt
    assert "isn't known" in HEADS["connection, unpaired"]().act


def test_what_stops_stands_first_and_says_so() -> None:
    assert HEADS["windings, leaking"]().lines[0].startswith("stop: do not power")
    for head in (HEADS["ratings, a leaking motor"](), OrderStage(desk_of(LEAKS)).head, JogStage(desk_of(LEAKS)).head):
        assert head.kind == "stop" and head.lines[0].startswith("stop: ")
    stopped = form_head(DriverStage, EIGHT, PAIRED, RATED, **CHOSEN, current="9 A")
    assert stopped.kind == "stop" and not stopped.figure


def test_a_reading_that_is_asked_for_names_its_leads() -> None:
    head = HEADS["windings, on the way"]()
    assert head.kind == "question" and len(head.leads) == 2 and set(head.leads) <= {"RD", "BU", "WH", "BK", "frame"}
    assert all(lead in head.lines[0] for lead in head.leads if lead != "frame")


def test_a_head_of_nothing_takes_no_line() -> None:
    assert NOTHING.lines == ()
