"""The connection stage: rows, choice for the driver, wiring by lead name."""

from __future__ import annotations

import pytest
from textual.widgets import Input

from .screen import open_stage, put_motor, shown, standing

SIZES = [(80, 24), (160, 50)]
LEADS = "RD YE BU BK WH OG BN GN"


EIGHT = {
    "arrangement": "split-8",
    "confidence": 0.99,
    "coils": [
        {"name": name, "ends": ends, "tap": None, "ohms": 1.4, "ohms_sd": 0.05}
        for name, ends in zip("ABCD", (["RD", "YE"], ["BU", "BK"], ["WH", "OG"], ["BN", "GN"]), strict=True)
    ],
}
ORDER = {
    "halves": {"A": [["RD", "YE"], ["BU", "BK"]], "B": [["WH", "OG"], ["BN", "GN"]]},
    "sequence": [],
    "done": True,
}
RATED = {
    "current_ampere": 3.0,
    "low_ampere": 2.5,
    "high_ampere": 3.5,
    "resistance_ohm": 1.4,
    "inductance_henry": 0.0032,
    "step_angle_degree": 1.8,
}


@pytest.mark.parametrize("size", SIZES)
async def test_rows_side_by_side_and_the_advice_kept(own_bench, settle, size) -> None:
    app = own_bench()
    async with standing(app, settle, size=size) as pilot:
        put_motor(app, LEADS, windings=EIGHT, order=ORDER, ratings=RATED)
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        text = shown(app)
        for name in ("half-coil", "series", "parallel", "unipolar"):
            assert name in text
        assert sheet.pane.choice.choose == "series"
        assert "join: YE + BU" in [str(w) for w in _wires(sheet)]
        await pilot.press("enter")
        await settle(pilot)
        saved = app.bin.fact("M-20", "connection")
        assert saved["connection"] == "series"
        # 23-305-DS8A drawing (read): 2.12 A, 2.8 ohm, 12.8 mH in series.
        assert round(saved["current_ampere"], 2) == 2.12
        assert saved["inductance_henry"] == pytest.approx(12.8e-3)
        assert "join: YE + BU" in saved["wiring"]
        assert "never" in shown(app) or "supply off" in shown(app)


def _wires(sheet):
    from coilbench.rating.wiring import wires

    return wires(sheet.pane.picked.connection, sheet.pane.phases)


async def test_driver_decides_and_another_row_can_be_taken(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS, windings=EIGHT, order=ORDER, ratings=RATED)
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        sheet.query_one("#connection-driver", Input).value = "5 A"
        sheet.query_one("#connection-supply", Input).value = "24"
        await settle(pilot)
        assert sheet.pane.choice.choose == "parallel"
        sheet.query_one("#connection-driver", Input).value = "A4988"
        await settle(pilot)
        assert sheet.pane.choice.choose == "series"
        sheet.query_one("#connection-driver", Input).value = "5 A"
        await settle(pilot)
        await pilot.press("f6")
        await settle(pilot)
        assert sheet.pane.choice.choose == "unipolar"
        await pilot.press("f6")
        await settle(pilot)
        await pilot.press("up", "f5")
        await settle(pilot)
        saved = app.bin.fact("M-20", "connection")
        assert saved["connection"] == "series"
        assert saved["typed"]["driver"] == "5 A"
        sheet.query_one("#connection-supply", Input).value = "24 A"
        await settle(pilot)
        assert sheet.pane.choice is None
        assert "24 A" in shown(app)
        sheet.query_one("#connection-supply", Input).value = ""
        sheet.query_one("#connection-driver", Input).value = "200 rpm"
        await settle(pilot)
        assert "'200 rpm' is no driver" in shown(app)


async def test_the_chip_says_what_kind_of_driver_it_is(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS, windings=EIGHT, order=ORDER, ratings={**RATED, "current_ampere": 1.0})
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        sheet.query_one("#connection-driver", Input).value = "SLA7026M"
        await settle(pilot)
        assert sheet.pane.drive == "unipolar" and sheet.pane.choice.choose == "unipolar"
        sheet.query_one("#connection-driver", Input).value = "a4988"
        await settle(pilot)
        assert sheet.pane.drive == "bipolar"


async def test_five_leads_wait_for_a_unipolar_driver(own_bench, settle) -> None:
    coils = [
        {"name": name, "ends": ["WH", end], "tap": None, "ohms": 70.0, "ohms_sd": 0.5}
        for name, end in zip("ABCD", ("RD", "YE", "BU", "BK"), strict=True)
    ]
    five = {"arrangement": "unipolar-5", "confidence": 0.99, "common": "WH", "coils": coils}
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(
            app, "RD YE BU BK WH", windings=five, ratings={**RATED, "resistance_ohm": 70.0, "current_ampere": 0.25}
        )
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        assert "driver: unipolar" in shown(app) and sheet.pane.choice.choose == "unipolar"


async def test_no_lead_names_before_the_halves_are_paired(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(100, 50)) as pilot:
        put_motor(app, LEADS, windings=EIGHT, ratings=RATED)
        sheet = await open_stage(pilot, settle, "M-20", "connection")
        assert sheet.pane.phases == ()
        assert "cell" in shown(app)
        assert "A+:" not in shown(app)


@pytest.mark.parametrize(("facts", "says"), [({}, "sort the windings"), ({"windings": EIGHT}, "rate the motor")])
async def test_what_must_come_first_is_said(own_bench, settle, facts, says) -> None:
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        put_motor(app, LEADS, **facts)
        await open_stage(pilot, settle, "M-20", "connection")
        assert says in " ".join(shown(app).split())
        await pilot.press("f5")
        await settle(pilot)
        assert app.bin.fact("M-20", "connection") is None


def test_a_row_shows_what_is_known_and_no_more() -> None:
    from coilbench.rating.connections import compare_connections
    from coilbench.ui.panes.connection import row_text

    (four,) = compare_connections(4, 2.4, 0.84).rows
    assert row_text(four, chosen=True, wide=True) == "* bipolar    0.84 A   2.4 Ω  3.4 W"
    series = compare_connections(6, 30.0, 0.4, 0.02).rows[1]
    assert "1.41 T" in row_text(series, chosen=False, wide=True) and "80 mH" in row_text(
        series, chosen=False, wide=True
    )
