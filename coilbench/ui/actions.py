"""Every key of the bench, in one table: footer, F1 help, command palette and the README's key table print it.

An action is looked up by its id, which is also its name in the ``[keys]`` table of the config file. ``where`` says
whose keys they are: ``app`` (everywhere), ``bin`` (the list of motors), ``summary`` (of a finished one),
``own`` (my bench), ``sheet`` (any stage of a bench sheet), or the id of one stage. A widget takes its keys with
``BINDINGS = bindings_for("windings")`` and answers with a method ``action_<method>``; an action that makes no sense
just now is hidden by the widget's ``check_action``.

Keys are letters and F-keys, which pass through tmux and SSH; a letter must not begin a reading (digits, ``R47``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from textual.binding import Binding, BindingType


@dataclass(frozen=True)
class Action:
    """One thing a person can do by key: ``keys`` are Textual's key names, separated by commas."""

    id: str
    keys: str
    label: str
    tooltip: str
    group: str
    where: str
    show: bool = True  # in the footer
    key_shown: str | None = None  # where the key's own name is long
    each_key: bool = False  # every key is an answer of its own: the method is given the key as it stands here

    @property
    def method(self) -> str:
        """The name after ``action_`` of the method that does it."""
        return self.id.replace(".", "_")

    @property
    def bound(self) -> dict[str, tuple[str, str]]:
        """What is bound, by the name that the config file knows it by: the keys, and what they do."""
        if not self.each_key:
            return {self.id: (self.keys, self.method)}
        return {f"{self.id}_{key}": (key, f"{self.method}('{key}')") for key in self.keys.split(",")}


_EVERYWHERE, _BIN, _SUMMARY, _OWN, _MACHINE, _AXIS, _TORQUE, _SHEET, _WINDINGS, _ORDER = (
    "Everywhere",
    "The bin",
    "A motor's summary",
    "My bench",
    "A machine",
    "An axis",
    "Torque at speed",
    "A bench sheet",
    "Windings",
    "Phase order",
)

ACTIONS: tuple[Action, ...] = (
    Action(
        "app.help", "f1", "help", "what this field takes, and every key that works now", _EVERYWHERE, "app", False
    ),
    Action(
        "app.palette", "ctrl+p", "find", "find and do anything that makes sense now", _EVERYWHERE, "app", False, "^p"
    ),
    Action(
        "app.bench",
        "f10",
        "my bench",
        "your drivers, supplies, meters, boards; the usual ones, from which every motor starts",
        _EVERYWHERE,
        "app",
        False,
    ),
    Action("app.theme", "f12", "colours", "choose other colours, dark or light", _EVERYWHERE, "app", False),
    Action(
        "app.diagnosis", "f9", "diagnosis", "versions, paths, terminal: seen and copied", _EVERYWHERE, "app", False
    ),
    Action(
        "app.leave",
        "ctrl+q",
        "quit",
        "close the bench; all is saved, but for a demo's bin",
        _EVERYWHERE,
        "app",
        False,
        "^q",
    ),
    Action("bin.open", "enter,o", "open", "open this motor's bench sheet", _BIN, "bin", True, "⏎"),
    Action("bin.add", "a", "add", "name a motor and type its leads", _BIN, "bin"),
    Action(
        "bin.find",
        "slash",
        "find",
        "type any word of a motor: the list holds those that have it",
        _BIN,
        "bin",
        True,
        "/",
    ),
    Action("bin.sort", "s", "sort", "by the next column; a click on its head does the same", _BIN, "bin"),
    Action("bin.machine", "m", "machine", "which motor goes on which axis of a machine", _BIN, "bin"),
    Action("bin.mark", "space", "mark", "mark this motor, or not", _BIN, "bin"),
    Action("bin.menu", "b", "bin…", "all that can be done with the bin and marked motors", _BIN, "bin"),
    Action("bin.undo", "ctrl+z", "undo", "take back what was done last to whole motors", _BIN, "bin", True, "^z"),
    Action("bin.redo", "ctrl+y", "redo", "do again what was taken back", _BIN, "bin", False, "^y"),
    Action("bin.unmark", "0", "unmark all", "no motor is marked", _BIN, "bin", False),
    Action("bin.note", "n", "note", "where it is from, a photo, anything else", _BIN, "bin", False),
    Action("bin.archive", "v", "archive", "put away, or take out again", _BIN, "bin", False),
    Action("bin.archived", "h", "show archived", "list archived motors, too, or leave them out", _BIN, "bin", False),
    Action("bin.alike", "l", "alike", "motors that look like the same type", _BIN, "bin", False),
    Action("bin.compare", "c", "compare", "two motors side by side", _BIN, "bin", False),
    Action("bin.merge", "i", "merge", "make one of two records of the same motor", _BIN, "bin", False),
    Action("bin.split", "t", "split", "make two of a record that holds two motors", _BIN, "bin", False),
    Action("bin.cards", "p", "cards", "write a page a motor, to print", _BIN, "bin", False),
    Action("bin.table", "x", "table", "write a table for a spreadsheet (CSV)", _BIN, "bin", False),
    Action("bin.backups", "r", "backups", "copies of the bin; put it back as it was", _BIN, "bin", False),
    Action("bin.delete", "d,delete", "delete", "delete, with its readings, after asking", _BIN, "bin", False),
    Action("bin.all", "escape", "all", "every motor again", _BIN, "bin", True, "esc"),
    Action("summary.open", "enter", "its stages", "open this motor's bench sheet", _SUMMARY, "summary", True, "⏎"),
    Action("summary.back", "escape", "bin", "back to the bin of motors", _SUMMARY, "summary", True, "esc"),
    Action("own.usual", "enter", "make it usual", "have every motor start from this one", _OWN, "own", True, "⏎"),
    Action("own.add", "a", "add", "tell of another one of this kind", _OWN, "own"),
    Action("own.change", "e", "change", "tell other things of it", _OWN, "own"),
    Action("own.remove", "d,delete", "take off", "take it off the bench, after asking", _OWN, "own"),
    Action("own.back", "escape", "back", "back to the motors", _OWN, "own", True, "esc"),
    Action("machine.change", "enter,e", "change", "change this axis", _MACHINE, "machine", True, "⏎"),
    Action("machine.back", "escape", "bin", "back to the bin of motors", _MACHINE, "machine", True, "esc"),
    Action("machine.add", "a", "add", "describe another axis: screw, drum, belt, rack, table", _MACHINE, "machine"),
    Action("machine.remove", "d,delete", "take off", "take this axis out, after asking", _MACHINE, "machine", False),
    Action(
        "machine.torque", "t", "torque", "the motor's torque at speed, what is asked drawn in", _MACHINE, "machine"
    ),
    Action("machine.sheet", "s", "sheet", "the page for the wall: what to wire and to set", _MACHINE, "machine"),
    Action(
        "machine.labels", "l", "labels", "a label for each of its motors, to print and stick on", _MACHINE, "machine"
    ),
    Action("machine.file", "f", "file", "open another machine, or the example", _MACHINE, "machine"),
    Action("machine.keep", "k", "keep", "name a file for it", _MACHINE, "machine"),
    Action("machine.why", "f8", "why", "show or fold the reasons, sources and notes", _MACHINE, "machine"),
    Action(
        "machine.undo", "ctrl+z", "undo", "take back the last change of an axis", _MACHINE, "machine", False, "^z"
    ),
    Action("axis.keep", "f5", "keep", "keep the axis; Enter does the same", _AXIS, "axis", True, "⏎"),
    Action("axis.why", "f8", "why", "show or fold the reasons and every figure", _AXIS, "axis"),
    Action("axis.back", "escape", "back", "back to the machine", _AXIS, "axis", True, "esc"),
    Action("torque.other", "n", "next supply", "the band of the next supply's line", _TORQUE, "torque"),
    Action("torque.table", "t", "figures", "the same as a table, or drawn", _TORQUE, "torque"),
    Action("torque.back", "escape", "back", "back to where it was asked for", _TORQUE, "torque", True, "esc"),
    Action("sheet.bin", "escape", "bin", "back to the bin of motors", _SHEET, "sheet", True, "esc"),
    Action("sheet.back", "f2", "back", "go to the stage before this one", _SHEET, "sheet", False),
    Action("sheet.next", "f3", "next", "go to the stage after this one", _SHEET, "sheet"),
    Action("sheet.undo", "ctrl+z", "undo", "take back what was done last here", _SHEET, "sheet", True, "^z"),
    Action("sheet.redo", "ctrl+y", "redo", "do again what was taken back", _SHEET, "sheet", False, "^y"),
    Action("sheet.why", "f8", "why", "show or fold the reasons, sources and notes", _SHEET, "sheet"),
    Action("sheet.copy", "f4", "known", "what is known of this motor, seen and copied", _SHEET, "sheet", False),
    Action(
        "windings.meter",
        "m",
        "measure",
        "the meter on its port, or the demo's, takes the asked reading",
        _WINDINGS,
        "windings",
    ),
    Action(
        "windings.free",
        "t",
        "hands free",
        "the meter on its port takes each reading by itself once it rests, or no longer",
        _WINDINGS,
        "windings",
        False,
    ),
    Action("windings.open", "o,O", "open", "the meter shows OL: no connection", _WINDINGS, "windings"),
    Action("windings.skip", "s", "skip", "ask for another reading instead", _WINDINGS, "windings"),
    Action("windings.pick", "p", "pick", "choose yourself where the probes go", _WINDINGS, "windings"),
    Action(
        "windings.clips",
        "c",
        "on clips",
        "a helper board measures all leads on its clips, in a few seconds",
        _WINDINGS,
        "windings",
        False,
    ),
    Action(
        "windings.edit",
        "e",
        "edit readings",
        "go to the list of readings, to correct one",
        _WINDINGS,
        "windings",
        False,
    ),
    Action(
        "windings.delete",
        "d,delete",
        "delete",
        "delete the reading chosen in the list",
        _WINDINGS,
        "readings",
    ),
    Action("windings.change", "enter", "correct it", "type this reading again", _WINDINGS, "readings"),
    Action("windings.leave", "escape", "question", "leave the list of readings", _WINDINGS, "readings"),
    Action("windings.keypad", "k", "digits on screen", "show or hide digits to click", _WINDINGS, "windings", False),
    Action(
        "windings.save", "f", "finish here", "save what is known so far as the result", _WINDINGS, "windings", False
    ),
    Action("order.meter", "m", "answer", "the demo's motor makes the asked test", _ORDER, "order"),
    Action(
        "order.answer",
        "1,2,3,4",
        "answer",
        "the answer that has this digit on the screen",
        _ORDER,
        "order",
        False,
        each_key=True,
    ),
    Action(
        "order.board",
        "b",
        "by board",
        "let a helper board nudge the coils, or go back to the tests by hand",
        _ORDER,
        "order",
    ),
    Action(
        "order.way",
        "w",
        "other way",
        "find it by another test, without an eye for the flag, or confirm what is known",
        _ORDER,
        "order",
    ),
    Action("order.nudge", "g", "nudge", "the board makes the asked test", _ORDER, "order"),
    Action("order.stop", "space,escape", "STOP", "all coils off", _ORDER, "order", True, "space"),
    Action("ratings.size", "f5", "by size", "rate the motor by its size and cold ohms", "Ratings", "ratings"),
    Action("ratings.soak", "f6", "rise test", "check the winding's temperature after a run", "Ratings", "ratings"),
    Action("ratings.spin", "f7", "spun", "torque constant from a spun shaft's volts", "Ratings", "ratings"),
    Action("connection.take", "f5", "take it", "keep the connection chosen in the list", "Connection", "connection"),
    Action(
        "connection.drive",
        "f6",
        "driver's kind",
        "bipolar or unipolar driver",
        "Connection",
        "connection",
    ),
    Action("connection.torque", "f7", "torque", "torque against speed on your supplies", "Connection", "connection"),
    Action(
        "connection.roads",
        "ctrl+r",
        "every road",
        "of a motor with taps: every way to drive its windings, with parts, heat and torque",
        "Connection",
        "connection",
        False,
        "^r",
    ),
    Action("roads.back", "escape,q", "back", "back to the connection", "Every road", "roads", True, "esc"),
    Action("driver.steps", "f5", "to do", "what to do to set the driver, to tick and copy", "Driver", "driver"),
    Action(
        "driver.live", "f6", "live", "follow the trimmer by the helper board: which way to turn", "Driver", "driver"
    ),
    Action("jog.stop", "space,escape", "STOP", "stop the motor, outputs off", "Jog", "jog", True, "space"),
    Action("jog.connect", "f5", "connect", "open the port and greet the helper board", "Jog", "jog"),
    Action("jog.turn", "f6", "turn once", "one slow turn, before anything fast", "Jog", "jog"),
    Action("jog.settings", "f7", "settings", "let the board go, back to the settings", "Jog", "jog"),
    Action("jog.meter", "m", "answer", "the demo's shaft answers", "Jog", "jog"),
    Action("jog.go", "g", "go", "make the next move", "Jog", "jog"),
    Action(
        "jog.answer",
        "0,1,2,3,4,5",
        "answer",
        "the answer that has this digit on the screen",
        "Jog",
        "jog",
        False,
        each_key=True,
    ),
    Action("jog.prove", "p", "prove", "try the working figure again and again, in longer moves", "Jog", "jog"),
    Action("jog.choose", "n", "other search", "leave this search, choose another; its moves are kept", "Jog", "jog"),
)

BY_ID = {action.id: action for action in ACTIONS}
BY_BINDING = {binding: action for action in ACTIONS for binding in action.bound}


def bindings_for(where: str) -> list[BindingType]:
    """The Textual bindings of one owner, made from the table."""
    from textual.binding import Binding

    bindings: list[Binding] = [
        Binding(
            keys,
            does,
            action.label,
            id=binding,
            tooltip=action.tooltip,
            show=action.show,
            key_display=action.key_shown,
            priority=action.where == "app",
        )
        for action in ACTIONS
        if action.where == where
        for binding, (keys, does) in action.bound.items()
    ]
    return list(bindings)


def key_table() -> list[tuple[str, str, str, str]]:
    """Rows of (group, keys, label, what it does) for the README."""
    return [(a.group, " ".join(k for k in a.keys.split(",")), a.label, a.tooltip) for a in ACTIONS]
