"""Small terminals, names that look like markup or formulas, colours, keys of one's own choice."""

from __future__ import annotations

import pytest
from textual.binding import Binding
from textual.command import CommandPalette
from textual.widgets import Input, Static

from coilbench.errors import Fault
from coilbench.records import writing
from coilbench.records.saved.connection import Connection
from coilbench.records.saved.driver import Driver
from coilbench.records.saved.intake import Intake
from coilbench.records.saved.order import HandTest, Order
from coilbench.records.saved.ratings import Ratings
from coilbench.records.saved.windings import WindingFault, Windings
from coilbench.stages.desk import Desk
from coilbench.stages.leads import next_name
from coilbench.ui.actions import ACTIONS, BY_ID, bindings_for, key_table
from coilbench.ui.dialogs.add_motor import AddMotorDialog
from coilbench.ui.dialogs.basic import ProblemDialog, TextDialog
from coilbench.ui.dialogs.help import HelpDialog
from coilbench.ui.keymap import checked_keymap, meet
from coilbench.ui.screens.sheet import BenchSheet
from tests.support.more import some

from .screen import measured_out, open_stage, shown, standing

HOSTILE = ["[/x]", "=1+1", "[red]a", "a\\[b", "$x", "日本"]


@pytest.mark.parametrize(
    "size", some([(60, 20), (40, 14), (20, 8), (64, 22), (112, 34), (200, 60)], of=((60, 20), (20, 8)))
)
async def test_every_size_can_be_worked_at(demo_bench, settle, size) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=size) as pilot:
        for stage_key in ("f2", "f3", "f3", "f2"):
            await pilot.press(stage_key)
            await settle(pilot)
        await pilot.press("m")
        await settle(pilot)
        assert len(app.bin.readings("M-01")) == 1
        if size >= (40, 14):
            ask = app.screen.pane.ask
            assert ask.a in shown(app) and ask.b in shown(app)


async def test_a_narrow_footer_has_why_before_undo(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(60, 20)) as pilot:
        Desk(app.bin, "M-01").keep("ratings", Ratings(current_ampere=1.0, estimate_ampere=1.0))
        await open_stage(pilot, settle, "M-01", "ratings")
        foot = shown(app).splitlines()[-1]
        assert "f8 why" in foot and "^z" not in foot


async def test_a_terminal_that_shrinks_and_grows(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(120, 40)) as pilot:
        for size in ((30, 9), (12, 4), (80, 24), (160, 50)):
            await pilot.resize_terminal(*size)
            await settle(pilot)
        assert "VREF –" in shown(app)


async def test_names_from_people_are_never_markup(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, size=(160, 50), notifications=True) as pilot:
        app.bin.add_motor("[/motor]", HOSTILE)
        Desk(app.bin, "[/motor]").derive(Intake(label="[bold]=2*3[/nope]", frame="[/frame]"))
        app.screen.reload()
        await settle(pilot)
        assert "[/motor]" in shown(app)
        assert "[bold]=2*3[/nope]" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        for answer in ("o", "1"):
            await pilot.press(answer, "enter")
            await settle(pilot)
        for name in HOSTILE:
            assert name in shown(app)
        await pilot.press("p")
        await settle(pilot)
        assert "[/x]" in shown(app)
        await pilot.press("enter", "enter")
        await settle(pilot)
        await pilot.press("e", "enter", "escape", "f4", "f1")
        await settle(pilot)
        assert isinstance(app.screen, HelpDialog)


async def test_a_motor_is_added_with_two_fields(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle) as pilot:
        assert "No motor here yet" in shown(app)
        await pilot.press("a")
        await settle(pilot)
        assert isinstance(app.screen, AddMotorDialog)
        assert app.focused is app.screen.query_one("#leads")  # a name is offered; another is typed over it
        await pilot.press("shift+tab", "v", "e", "n", "t", "enter")
        app.screen.query_one("#leads", Input).value = "RD BU WH RD/WH"
        await settle(pilot)
        assert "4 leads: RD red" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, BenchSheet)
        assert app.bin.motor("vent").leads == ("RD", "BU", "WH", "RD/WH")


async def test_enter_keeps_the_name_that_is_offered(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, "a", "6", "enter"):
        assert len(app.bin.motor("M-01").leads) == 6


async def test_a_leak_to_the_frame_stands_over_every_stage(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        leak = WindingFault(kind="frame", leads=("brown",))
        Desk(app.bin, "M-06").derive(Windings(arrangement="bipolar-4", confidence=1.0, faults=(leak,)))
        for stage in ("ratings", "connection", "driver"):
            app.push_screen(BenchSheet("M-06", stage_id=stage))
            await settle(pilot)
            assert "do not power this motor: brown conducts to the case" in shown(app)
        app.push_screen(BenchSheet("M-01", stage_id="ratings"))
        await settle(pilot)
        assert "do not power" not in shown(app)


async def test_enter_on_an_empty_field_says_what_to_type(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "enter", size=(80, 24)):
        assert "type what the meter shows" in shown(app)
        assert app.bin.readings("M-01") == []


async def test_bad_leads_are_said_and_nothing_is_lost(own_bench, settle) -> None:
    app = own_bench()
    async with standing(app, settle, "a") as pilot:
        app.screen.query_one("#leads", Input).value = "99"
        await pilot.press("enter", "enter")
        await settle(pilot)
        assert isinstance(app.screen, AddMotorDialog)
        assert app.screen.query_one("#leads", Input).value == "99"
        assert app.screen.query_one("#leads-read", Static).has_class("-problem")
        assert app.bin.motors() == []


async def test_the_bin_keeps_labels_in_sight_and_home_and_end_go_to_the_ends(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        connection = Connection(connection="bipolar", current_ampere=1.0)
        facts = (Windings(arrangement="bipolar-4"), Order(), Ratings(current_ampere=1.0), connection)
        Desk(app.bin, "M-01").keep("driver", *facts, Driver(chip="A4988", peak_ampere=1.0))
        app.screen.reload()
        await settle(pilot)
        assert "flat-bed scanner" in shown(app)
        await pilot.press("end")
        assert app.screen.query_one("#motors").chosen == "M-13"
        await pilot.press("home")
        assert app.screen.query_one("#motors").chosen == "M-01"


async def test_a_short_screen_shows_the_test_by_hand_whole_and_a_caution(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        app.push_screen(BenchSheet("M-03", stage_id="windings"))
        await settle(pilot)
        for _ in range(12):
            await pilot.press("m")
            await settle(pilot)
        await pilot.press("f3")
        await settle(pilot)
        assert "end?" in shown(app)  # the last word of the last step
        assert "seconds only" in shown(app)


def test_names_go_on_counting() -> None:
    assert next_name(["M-01", "M-07", "fan"]) == "M-08"


async def test_deleting_asks_first_and_the_harmless_answer_is_nearest(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "d", "enter") as pilot:
        assert len(app.bin.motors()) == 13
        await pilot.press("d")
        await settle(pilot)
        await pilot.click("#yes")
        await settle(pilot)
        assert len(app.bin.motors()) == 12


async def test_an_error_says_what_to_do_and_can_be_copied(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle) as pilot:
        app.show_problem(Fault("the disk is full [/x]", title="can't save", remedy="make room"))
        await settle(pilot)
        assert isinstance(app.screen, ProblemDialog)
        assert "What to do: make room" in shown(app)
        await pilot.press("c")
        assert "the disk is full [/x]" in app.clipboard.replace("The", "the")
        await pilot.press("escape")
        await settle(pilot)


async def test_a_bin_that_is_no_bin_is_left_alone_and_said(own_bench, settle, tmp_path) -> None:
    wreck = tmp_path / "own.bin"
    wreck.mkdir()
    app = own_bench()
    async with standing(app, settle) as pilot:
        assert isinstance(app.screen, ProblemDialog)
        await pilot.press("escape")
        await settle(pilot)
    assert app.return_value not in (None, 0)


async def test_a_damaged_bin_can_be_set_aside_from_its_dialog(own_bench, settle, tmp_path) -> None:
    wreck = b"from,to,ohms\nRD,BU,48.2\n"
    (tmp_path / "own.bin").write_bytes(wreck)
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        assert "damaged" in shown(app) and app.focused.id != "act"  # Enter alone changes nothing
        await pilot.click("#act")
        await settle(pilot)
        (kept,) = tmp_path.glob("own.bin.aside-*")
        assert kept.read_bytes() == wreck
        said = " ".join(shown(app).split())
        assert "The damaged file is kept" in said and ".aside-" in said.replace(" ", "")
        await pilot.press("escape")
        await settle(pilot)
        assert "No motor here yet" in shown(app)
        app.bin.add_motor("vent", ["RD", "BU"])


async def test_what_another_bench_set_aside_meanwhile_is_not_moved_again(own_bench, settle, tmp_path) -> None:
    from coilbench.records.store import Bin

    path = tmp_path / "own.bin"
    path.write_bytes(b"wreck")
    app = own_bench()
    async with standing(app, settle, size=(80, 24)) as pilot:
        path.unlink()
        with Bin.open(path) as other:
            other.add_motor("turntable", ["RD", "BU"])
        await pilot.click("#act")
        await settle(pilot)
        assert not list(tmp_path.glob("own.bin.aside-*"))
        assert "turntable" in shown(app)


async def test_help_shows_the_field_and_the_live_keys(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "f1", size=(120, 40)):
        text = shown(app)
        assert "what the meter says" in text
        assert BY_ID["windings.skip"].tooltip in text
        assert BY_ID["bin.add"].tooltip not in text


async def test_the_palette_offers_what_makes_sense_now(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "ctrl+p", size=(120, 40)) as pilot:
        assert isinstance(app.screen, CommandPalette)
        assert "The bin: add" in shown(app)
        assert "Windings: skip" not in shown(app)
        await pilot.press(*"diagn")
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, TextDialog)
        assert "textual" in shown(app)


@pytest.mark.parametrize("theme", ["textual-light", "ansi-light", "textual-ansi"])
async def test_other_colours(demo_bench, settle, theme) -> None:
    app = demo_bench(theme=theme)
    async with standing(app, settle, "enter", notifications=True):
        assert "put the probes on" in shown(app)


async def test_without_colour_the_words_still_say_it(demo_bench, settle, monkeypatch) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    app = demo_bench()
    async with standing(app, settle, "down", "enter"):
        assert "BK black" in shown(app)


def test_keys_of_ones_own_are_checked() -> None:
    keymap, problems = checked_keymap(
        {"windings.edit": "z", "windings.skip": "o", "windings.pik": "x", "bin.add": "ctrl+m", "app.help": "f2"}
    )
    assert keymap == {"windings.edit": "z"}
    assert len(problems) == 4
    assert any("did you mean windings.pick" in problem for problem in problems)


def test_each_answer_of_a_row_has_its_own_key() -> None:
    assert len(bindings_for("order")) == sum(len(each.bound) for each in ACTIONS if each.where == "order")
    bound = {each.id: (each.key, each.action) for each in bindings_for("order") if isinstance(each, Binding)}
    assert all(bound[f"order.answer_{key}"] == (key, f"order_answer('{key}')") for key in "1234")
    keymap, problems = checked_keymap({"order.answer_1": "c", "order.answer_2": "3", "order.answer": "z"})
    assert keymap == {"order.answer_1": "c"}
    assert any("taken by order.answer_3" in problem for problem in problems)
    assert any("no action order.answer;" in problem for problem in problems)


async def test_a_row_of_answers_is_one_row_of_the_help(demo_bench, settle) -> None:
    app = demo_bench(keys={"order.answer_1": "c"})
    async with standing(app, settle, size=(120, 40)) as pilot:
        await open_stage(pilot, settle, "M-02", "windings")
        await measured_out(pilot, settle)
        await app.screen.show_stage("order")
        await pilot.press("f1")
        await settle(pilot)
        rows = [line for line in shown(app).splitlines() if BY_ID["order.answer"].tooltip in line]
        assert len(rows) == 1 and {"c", "2", "3", "4"} <= set(rows[0].split())
        await pilot.press("escape", "c")
        await settle(pilot)
        assert len(app.bin.entries("M-02", HandTest)) == 1


async def test_a_key_of_ones_own_works(demo_bench, settle) -> None:
    app = demo_bench(keys={"windings.meter": "w", "windings.nothing": "q"})
    async with standing(app, settle, notifications=True) as pilot:
        assert "no action windings.nothing" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        await pilot.press("m", "w")
        await settle(pilot)
        assert len(app.bin.readings("M-01")) == 1


def test_the_table_of_keys_has_no_clash_and_no_key_that_begins_a_reading() -> None:
    for place, one in enumerate(ACTIONS):
        for other in ACTIONS[place + 1 :]:
            if one.where == other.where:
                assert not set(one.keys.split(",")) & set(other.keys.split(",")), (one.id, other.id)
        if one.where in ("windings", "sheet", "app"):
            assert not set(one.keys.split(",")) & set("0123456789.,rR")
    assert len(BY_ID) == len(ACTIONS) == len(key_table())
    assert meet(BY_ID["app.help"], BY_ID["bin.add"])


async def test_a_disk_that_refuses_is_said_and_the_bench_stays(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", "m") as pilot:
        with app.bin.reading() as connection:
            connection.execute("PRAGMA query_only = ON")
        await pilot.press("e", "d")
        await settle(pilot)
        assert isinstance(app.screen, ProblemDialog)
        with app.bin.reading() as connection:
            connection.execute("PRAGMA query_only = OFF")
        await pilot.press("escape", "escape", "m")
        await settle(pilot)
        assert len(app.bin.readings("M-01")) == 2


async def test_two_benches_on_one_bin_see_each_other(own_bench, settle) -> None:
    from coilbench.records.store import Bin

    app = own_bench()
    async with standing(app, settle) as pilot:
        with Bin.open(app.bin_path) as other:
            other.add_motor("turntable", ("RD", "BU", "WH", "BK"))
        app.screen.look_again()
        await settle(pilot)
        assert "turntable" in shown(app)
        await pilot.press("enter")
        await settle(pilot)
        with Bin.open(app.bin_path) as other:
            from coilbench.winding.readings.reading import Reading

            writing.add_reading(other, "turntable", Reading("RD", "BU", 2.5))
        app.screen.look_again()
        await settle(pilot)
        assert len(app.screen.pane.state.rows) == 1
        with Bin.open(app.bin_path) as other:
            other.delete_motor("turntable")
        app.screen.look_again()
        await settle(pilot)
        assert isinstance(app.screen, ProblemDialog)


async def test_a_word_in_passing_stands_in_the_title_and_covers_nothing(demo_bench, settle) -> None:
    app = demo_bench()
    async with standing(app, settle, "enter", size=(80, 24), notifications=True) as pilot:
        before = shown(app).splitlines()
        app.tell("saved as it is")
        await settle(pilot)
        after = shown(app).splitlines()
        assert "saved as it is" in after[0] and after[1:] == before[1:]
        app.screen.query_one("TitleBar")._end_telling()
        await settle(pilot)
        assert shown(app).splitlines()[0] == before[0]
