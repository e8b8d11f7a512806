"""What the bin's screen does with motors as a whole: marked, noted, put away, merged, compared, written out; and with
the bin's backups. Each act is undone by the usual key."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from coilbench.errors import CoilbenchError, InputProblem
from coilbench.stages.bin.acts import Choice, why_not
from coilbench.ui.actions import ACTIONS
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.steady import Steady

if TYPE_CHECKING:
    from coilbench.records.saved.notes import Notes
    from coilbench.records.store import Bin

ACTS = tuple(action for action in ACTIONS if action.where == "bin")
IN_MENU = (
    *("mark", "unmark", "note", "archive", "archived", "alike", "compare", "merge", "split", "cards", "table"),
    *("backups", "delete", "undo", "redo"),
)


class BinCare(Steady[None]):
    """The acts; the screen says what is chosen and marked, and shows the bin anew."""

    show_archived = False

    @property
    def choice(self) -> Choice:
        """What is chosen and marked."""
        return Choice()

    def reload(self) -> None:
        """Show what the bin holds."""

    def mark(self, names: tuple[str, ...]) -> None:
        """Mark these motors and no others."""

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def _bin(self) -> Bin:
        return self.bench.bin

    def act(self, do: Callable[[], object], says: str, *, keeps_marks: bool = False) -> bool:
        """Do it, show the bin, say so; a problem is shown. Return whether it was done."""
        try:
            do()
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
            self.reload()
            return False
        if not keeps_marks:
            self.mark(())
        self.reload()
        self.bench.tell(says)
        return True

    def action_bin_menu(self) -> None:
        from coilbench.ui.dialogs.bin_menu import BinMenu

        if not self.bench.is_bin_open:
            return
        choice = self.choice
        by_id = {act.id: act for act in ACTS}
        acts = []
        for name in IN_MENU:
            act = by_id[f"bin.{name}"]
            own = self.bench.config.keys.get(act.id) if self.bench.config else None
            acts.append((act, own or act.keys, why_not(name, choice)))
        marked = len(choice.marked)
        title = f"the bin; {marked} marked" if marked else f"the bin; {choice.chosen or 'no motor'}"

        def picked(method: str | None) -> None:
            if method is not None:
                self.call_later(self.run_action, method)

        self.app.push_screen(BinMenu(title, acts), picked)

    def action_bin_unmark(self) -> None:
        self.mark(())

    def action_bin_note(self) -> None:
        from coilbench.records.saved.notes import Notes
        from coilbench.stages.bin.notes import write_down
        from coilbench.stages.desk import Desk
        from coilbench.ui.dialogs.bin_form import Asked, BinForm

        name = self.choice.chosen
        if name is None:
            return
        before = self._bin.known(name).get(Notes) or Notes()
        kept: list[Notes] = []

        def keep(texts: dict[str, str]) -> None:
            kept.append(write_down(Desk(self._bin, name), **texts))  # type: ignore[arg-type]

        def done(answer: bool | None) -> None:
            if answer and kept:
                self.reload()
                photo = kept[-1].photo
                gone = bool(photo) and not Path(photo).expanduser().exists()
                self.bench.tell(f"noted; there is no file {photo} from here" if gone else f"noted of {name}")

        fields = (
            Asked("origin", "from", "wide printer", before.origin, "What the motor was taken out of."),
            Asked("photo", "photo", "photos/m02.jpg", before.photo, "The path of a picture, kept as you type it."),
            Asked("text", "note", "hums at 100", before.text, "Anything else."),
        )
        self.app.push_screen(BinForm(f"what to note of {name}", "", fields, "keep it", keep), done)

    def action_bin_archive(self) -> None:
        from coilbench.stages.bin.notes import archive

        names, back = self.choice.targets, self.choice.all_archived
        if names:
            said = f"{_counted(names)} {'out of the archive' if back else 'archived'}; ^z takes it back"
            self.act(lambda: archive(self._bin, names, back=back), said)

    def action_bin_archived(self) -> None:
        self.show_archived = not self.show_archived
        self.reload()
        self.bench.tell("archived motors are listed, too" if self.show_archived else "archived motors are left out")

    def action_bin_delete(self) -> None:
        from coilbench.stages.bin.notes import delete
        from coilbench.ui.dialogs.basic import ConfirmDialog

        names = self.choice.targets
        if not names:
            return
        if len(names) == 1:
            count = len(self._bin.readings(names[0]))
            what = f"{names[0]}, {'its one reading' if count == 1 else f'its {count} readings'}"
        else:
            what = f"{', '.join(names[:5])}{' and others' if len(names) > 5 else ''}, their readings"

        def answered(yes: bool | None) -> None:
            if yes:
                self.act(lambda: delete(self._bin, names), f"{_counted(names)} deleted; ^z brings it back")

        title = "delete this motor?" if len(names) == 1 else f"delete {len(names)} motors?"
        text = f"{what} and all that was worked out from them will be gone. Undo (^z) on the bin brings them back."
        self.app.push_screen(ConfirmDialog(title, text, "delete it" if len(names) == 1 else "delete them"), answered)

    def action_bin_alike(self) -> None:
        from coilbench.stages.bin.alike import groups, words
        from coilbench.ui.dialogs.pick import PickOneDialog

        found = groups(self._bin)
        if not found:
            self.bench.tell("no two motors look alike, as far as is known")
            return

        def picked(at: int | None) -> None:
            if at is not None:
                self.mark(found[at].motors)

        note = "of one kind, ohms, face and step angle as far as known; Enter marks a group"
        lines = [f"{len(each.motors)}  {words(each)}: {', '.join(each.motors)}" for each in found]
        self.app.push_screen(PickOneDialog("motors that are alike", note, lines), picked)

    def action_bin_compare(self) -> None:
        from coilbench.stages.bin.compare import as_text, compared
        from coilbench.ui.dialogs.basic import TextDialog

        pair = self.choice.pair
        if pair is None:
            return
        width = min(72, int(self.app.size.width * 0.96)) - 6
        sign = "!" if self.bench.plain_characters else "≠"
        try:
            text = as_text(compared(self._bin, *pair), *pair, width, differs=sign)
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
            return
        self.app.push_screen(TextDialog("side by side", text))

    def action_bin_merge(self) -> None:
        from coilbench.stages.bin.joining import merge
        from coilbench.ui.dialogs.basic import ConfirmDialog

        pair = self.choice.pair
        if pair is None:
            return
        stays, goes = pair

        def answered(yes: bool | None) -> None:
            if yes:
                self.act(lambda: merge(self._bin, stays, goes), f"{goes} is in {stays} now; ^z takes it back")

        text = (
            f"Two records of one motor: {stays} stays and takes the readings of {goes}, and what it doesn't know "
            f"itself. {goes} is gone then. Undo (^z) on the bin makes two of them again."
        )
        self.app.push_screen(ConfirmDialog(f"merge {goes} into {stays}?", text, "merge", "keep both"), answered)

    def action_bin_split(self) -> None:
        from coilbench.stages.bin.joining import split
        from coilbench.stages.leads import next_name
        from coilbench.ui.dialogs.bin_form import Asked, BinForm

        name = self.choice.chosen
        if name is None:
            return
        leads = self._bin.motor(name).leads
        free = next_name([each.name for each in self._bin.motors()])

        def do(texts: dict[str, str]) -> None:
            wanted = texts["leads"].replace(",", " ").split()
            if not wanted:
                raise InputProblem("which leads go with the new one?")
            split(self._bin, name, texts["new"], wanted)

        def done(answer: bool | None) -> None:
            if answer:
                self.mark(())
                self.reload()
                self.bench.tell(f"{name} is two motors now; ^z takes it back")

        fields = (
            Asked("leads", "leads", " ".join(leads[-2:]) or "RD BU", help=f"Those that go, of {' '.join(leads)}."),
            Asked("new", "new name", "M-20", free, "Of the motor that is split off."),
        )
        note = f"of {' '.join(leads) or 'no leads'} some are another motor's: which? Their readings go with them."
        self.app.push_screen(BinForm(f"split {name} in two", note, fields, "split it", do), done)

    def action_bin_cards(self) -> None:
        from coilbench.stages.card.written import save_cards
        from coilbench.ui.dialogs.machine import WriteFileDialog

        names = self.choice.targets
        if not names:
            return

        def written(path: Path | None) -> None:
            if path is not None:
                self.bench.tell(f"{'a card' if len(names) == 1 else f'{len(names)} cards'} written to {path}")

        note = f"of {_counted(names)}; the ending tells the form: .html to print, .md, .txt, .json"
        self.app.push_screen(
            WriteFileDialog(
                "cards", note, "cards.html", lambda path: save_cards(self._bin, names, path, date.today())
            ),
            written,
        )

    def action_bin_table(self) -> None:
        from coilbench.stages.bin.table import save_table
        from coilbench.ui.dialogs.machine import WriteFileDialog

        names = self.choice.marked or None

        def write(path: Path) -> None:
            save_table(self._bin, path, names)

        def written(path: Path | None) -> None:
            if path is not None:
                self.bench.tell(f"the table is in {path}")

        note = f"of {_counted(names) if names else 'all motors'}: CSV, a motor a row"
        self.app.push_screen(WriteFileDialog("a table for a spreadsheet", note, "bin.csv", write), written)

    def action_bin_backups(self) -> None:
        from coilbench.records import backups
        from coilbench.ui.dialogs.basic import ConfirmDialog
        from coilbench.ui.dialogs.pick import PickOneDialog

        path = self._bin.path
        there = backups.backups(path)
        if not there:
            self.bench.tell("no backup yet: one is made before the first entry of a day")
            return
        lines = [f"{each.made:%Y-%m-%d %H:%M} UTC  {each.path.stat().st_size // 1024:>6} kB" for each in there]

        def picked(at: int | None) -> None:
            if at is None:
                return
            wanted = there[at]

            def answered(yes: bool | None) -> None:
                if yes:
                    self.act(
                        lambda: backups.restore(path, backups.chosen(path, wanted.name), datetime.now(UTC)),
                        f"the bin is as it was on {wanted.made:%Y-%m-%d %H:%M} UTC",
                    )

            text = (
                f"Every motor will be as it was on {wanted.made:%Y-%m-%d %H:%M} UTC. What is in the bin now is kept "
                "as a backup of its own: restore that to come back."
            )
            self.app.push_screen(ConfirmDialog("put the bin back?", text, "put it back", "leave it"), answered)

        note = "the newest first; Enter puts the bin back as it was then, after asking"
        self.app.push_screen(PickOneDialog("backups", note, lines), picked)

    def action_bin_undo(self) -> None:
        from coilbench.stages.bin.undoing import undo

        self._step(undo, "taken back")

    def action_bin_redo(self) -> None:
        from coilbench.stages.bin.undoing import redo

        self._step(redo, "done again")

    def _step(self, step: Callable[[Bin], str | None], says: str) -> None:
        try:
            what = step(self._bin)
        except CoilbenchError as problem:
            self.bench.show_problem(problem)
            return
        self.mark(())
        self.reload()
        self.bench.tell(f"{says}: {what}" if what else f"nothing to be {says}")


def _counted(names: tuple[str, ...]) -> str:
    return names[0] if len(names) == 1 else f"{len(names)} motors"
