"""The ratings stage: what current the motor can take, from its size, a hot soak, or a spun shaft."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.widgets import Button, Input, Static

from coilbench.errors import CoilbenchError
from coilbench.ui.actions import bindings_for
from coilbench.ui.bench import Bench, bench_of
from coilbench.ui.panes.base import Caution
from coilbench.ui.panes.old import OldPane
from coilbench.ui.panes.ratings.forms import FIELDS, FormId, RatingField, Worked, length_metre, readable, work_out
from coilbench.ui.panes.ratings.soak import SoakClock, SoakKept, cooling_event, field_event, off_event, soak_kept
from coilbench.ui.panes.ratings.words import answer_lines, notes_of
from coilbench.ui.widgets.field import Field

if TYPE_CHECKING:
    from textual.binding import BindingType

    from coilbench.records.store import Bin

FORMS: tuple[tuple[FormId, str, str, str], ...] = (
    (
        "size",
        "by size",
        "What the body sheds as heat sets the current.",
        "the case gets hot: it burns, and softens plastic mounts",
    ),
    (
        "soak",
        "hot soak",
        "Probes together, coil cold. Run at rest, half an hour. Supply off, read at once, then each half minute.",
        "supply off before you unplug the motor; its case is hot",
    ),
    (
        "spin",
        "spun",
        "Motor off everything; spin its shaft with a drill, AC volts across one coil.",
        "tape the leads down, motor in a vice, no loose sleeves or hair",
    ),
)


class RatingInput(Field):
    """A field of the ratings, with its own help."""

    def __init__(self, field: RatingField) -> None:
        super().__init__(id=f"ratings-{field.id}", compact=True, placeholder=f"e.g. {field.hint}")
        self.field = field
        self.help_title = field.label
        self.help_text = f"{field.help} May stay empty. Enter saves."


class RatingsPane(OldPane):
    """Three small forms; the answer grows as they are filled, Enter saves."""

    BINDINGS: ClassVar[list[BindingType]] = bindings_for("ratings")
    WORDS = (
        "Half-winding: from a centre tap to one end; where there is no tap, the whole coil. Two phases on: both "
        "coils carry the current. RMS: the steady current that heats as much. Spun, back-EMF: a shaft turned by a "
        "drill makes volts on the leads, the more the stronger the motor. Inductance: how slowly the current rises, "
        "read by meters with an H range; without it the speeds are rougher."
    )

    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(motor_name, bin)
        self.form: FormId = "size"
        self.worked: Worked | None = None
        self.soak = SoakKept()

    def compose(self) -> ComposeResult:
        with Horizontal(id="ratings-forms"):
            for form_id, title, _, _ in FORMS:
                yield Button(title, id=f"form-{form_id}", compact=True)
        with VerticalScroll(id="ratings-scroll", can_focus=False):
            yield Static("", id="ratings-answer", markup=False)
            for form_id, _, says, _ in FORMS:
                with Vertical(id=f"ratings-{form_id}", classes="ratings-form"):
                    for field in FIELDS:
                        if field.form == form_id:
                            with Horizontal(classes="ratings-row"):
                                yield Static(field.label, classes="ratings-label", markup=False)
                                yield RatingInput(field)
                    if form_id == "soak":
                        yield SoakClock()
                    yield Static(says, classes="field-note", markup=False)
            yield Button("save (Enter)", id="ratings-save", variant="primary", compact=True)
            yield Static("", id="ratings-said", markup=False)
        for form_id, _, _, caution in FORMS:
            yield Caution(caution, id=f"caution-{form_id}")

    @property
    def bench(self) -> Bench:
        return bench_of(self.app)

    @property
    def texts(self) -> dict[str, str]:
        """What is typed, by field."""
        return {each.field.id: each.value for each in self.query(RatingInput)}

    def on_mount(self) -> None:
        self._show_form("size")
        super().on_mount()

    def focus_first(self) -> None:
        inputs = [each for each in self.query(RatingInput) if each.field.form == self.form]
        next((each for each in inputs if not each.value), inputs[0]).focus(scroll_visible=False)

    def refresh_from_bin(self) -> None:
        self._read_soak()
        filled = self._filled()
        for each in self.query(RatingInput):
            each.value = filled.get(each.field.id, "")
        self._answer()

    def leaving(self) -> None:
        for each in self.query(RatingInput):
            self._keep(each)

    def _filled(self) -> dict[str, str]:
        """The fields as last saved, with what the other stages know since."""
        from coilbench.rating.rate import half_winding_ohm

        saved = self.bin.fact(self.motor_name, "ratings") or {}
        intake = self.bin.fact(self.motor_name, "intake") or {}
        filled = {str(key): str(text) for key, text in (saved.get("typed") or {}).items()} | self.soak.texts
        if intake.get("frame"):
            filled["face"] = str(intake["frame"])
        elif intake.get("diameter_metre"):
            filled["face"] = f"{intake['diameter_metre'] * 1000:g} mm can"
        if intake.get("length_metre"):
            filled["length"] = f"{intake['length_metre'] * 1000:g} mm"
        if intake.get("step_angle_degree"):
            filled.setdefault("step", f"{intake['step_angle_degree']:g} deg")
        ohm = half_winding_ohm(self.bin.fact(self.motor_name, "windings"))
        if ohm is not None:
            filled.setdefault("coil", f"{ohm:.3g} ohm")
        return filled

    def _show_form(self, form: FormId) -> None:
        self.form = form
        for form_id, _, _, _ in FORMS:
            self.query_one(f"#ratings-{form_id}").set_class(form_id != form, "-away")
            self.query_one(f"#caution-{form_id}").set_class(form_id != form, "-away")
            self.query_one(f"#form-{form_id}").set_class(form_id == form, "-present")
        if self.is_mounted:
            self._answer()
            self.focus_first()
            self.refresh_bindings()

    def action_ratings_size(self) -> None:
        self._show_form("size")

    def action_ratings_soak(self) -> None:
        self._show_form("soak")

    def action_ratings_spin(self) -> None:
        self._show_form("spin")

    @on(Button.Pressed, "#ratings-forms Button")
    def form_clicked(self, event: Button.Pressed) -> None:
        event.stop()
        form = next(form_id for form_id, _, _, _ in FORMS if event.button.id == f"form-{form_id}")
        self._show_form(form)

    @on(Input.Changed, "RatingInput")
    def changed(self, event: Input.Changed) -> None:
        event.stop()
        self._answer()

    def _answer(self) -> CoilbenchError | None:
        """Work the fields out and show it; the problem where there is one."""
        answer, said = self.query_one("#ratings-answer", Static), self.query_one("#ratings-said", Static)
        problem: CoilbenchError | None = None
        self.worked = None
        from coilbench.winding.engine.fitness import check_usable

        try:
            check_usable(self.bin.fact(self.motor_name, "windings"))
            self.worked = work_out(self.texts, self.bin.fact(self.motor_name, "intake"))
        except CoilbenchError as error:
            problem = error
        answer.update("\n".join(answer_lines(self.worked, self.form)) if self.worked else "")
        said.set_class(problem is not None, "-problem")
        said.update(str(problem) if problem else "\n".join(notes_of(self.worked)))
        return problem

    # The hot soak: its entries are kept one by one

    def _read_soak(self) -> None:
        saved = self.bin.fact(self.motor_name, "ratings") or {}
        events = self.bin.events(self.motor_name, "ratings")
        self.soak = soak_kept(events, int(saved.get("soak_event") or 0))
        self.query_one(SoakClock).show(self.soak)

    def _show_soak(self) -> None:
        """Read the kept entries anew; fields of the other forms stay as they are typed."""
        self._read_soak()
        filled = self._filled()
        for each in self.query(RatingInput):
            if each.field.form == "soak" and readable(each.field.id, each.value):
                each.value = filled.get(each.field.id, "")

    def _keep(self, field: RatingInput) -> None:
        """Keep a field of the soak as typed, where that is new and can be read."""
        text = field.value.strip()
        if (
            field.field.form == "soak"
            and not self.bin.read_only
            and text != self._filled().get(field.field.id, "")
            and readable(field.field.id, text)
        ):
            self.bin.add_event(self.motor_name, "ratings", field_event(field.field.id, text))
            self._read_soak()

    @on(Input.Blurred, "RatingInput")
    def left_field(self, event: Input.Blurred) -> None:
        if isinstance(event.input, RatingInput):
            self._keep(event.input)

    @on(SoakClock.Off)
    def switched_off(self) -> None:
        self._add_soak(off_event())

    @on(SoakClock.Read)
    def reading_now(self, event: SoakClock.Read) -> None:
        self._add_soak(cooling_event(event.second, event.text))

    def _add_soak(self, event: dict[str, Any]) -> None:
        self.leaving()
        self.bin.add_event(self.motor_name, "ratings", event)
        self._show_soak()

    @on(SoakClock.Wrong)
    def reading_wrong(self, event: SoakClock.Wrong) -> None:
        said = self.query_one("#ratings-said", Static)
        said.update(event.says)
        said.add_class("-problem")

    @on(Button.Pressed, "#soak-undo")
    def action_ratings_undo(self) -> None:
        if not self.soak.last_event:
            self.query_one("#ratings-said", Static).update("no entry of the soak since the rating was saved")
            return
        self.bin.undo(self.motor_name, "ratings")
        self._show_soak()

    def action_ratings_redo(self) -> None:
        if self.bin.redo(self.motor_name, "ratings") is not None:
            self._show_soak()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        if action in ("ratings_undo", "ratings_redo"):
            possible = self.bin.can_undo if action == "ratings_undo" else self.bin.can_redo
            return self.form == "soak" and possible(self.motor_name, "ratings")
        return True

    @on(Input.Submitted, "RatingInput")
    @on(Button.Pressed, "#ratings-save")
    def save(self) -> None:
        self.leaving()
        said = self.query_one("#ratings-said", Static)
        if self._answer() is not None or self.worked is None:
            return
        if self.worked.rating is None:
            said.update("nothing to save yet: a coil's cold ohms are needed, and the face's size helps")
            said.add_class("-problem")
            return
        try:
            self._save(self.worked)
        except CoilbenchError as error:
            self.bench.show_problem(error)
            return
        said.update("\n".join(["saved; F3 goes on", *notes_of(self.worked)]))
        self.facts_changed()

    def _save(self, worked: Worked) -> None:
        from coilbench.rating.rate import rating_fact

        assert worked.rating is not None
        texts = self.texts
        fact: dict[str, Any] = rating_fact(worked.rating)
        fact["typed"] = {key: text for key, text in texts.items() if text.strip()}
        fact["soak_event"] = max((event.id for event in self.bin.events(self.motor_name, "ratings")), default=0)
        if worked.soak is not None:
            fact["soak"] = {
                "winding_celsius": worked.soak.winding_celsius,
                "rise_kelvin": worked.soak.rise_kelvin,
                "plus_minus_kelvin": worked.soak.plus_minus_kelvin,
                "thermal_class": worked.soak.thermal_class,
            }
        self._save_intake(texts)
        self.bin.put_fact(self.motor_name, "ratings", fact)
        self._read_soak()

    def _save_intake(self, texts: dict[str, str]) -> None:
        """Face and length belong to the intake: one truth, whichever stage they were typed in."""
        from coilbench.rating.frames import body_of

        before = self.bin.fact(self.motor_name, "intake") or {}
        filled, intake = self._filled(), dict(before)
        face, length = texts["face"].strip(), texts["length"].strip()
        body = body_of(face) if face else None
        if body is not None and face != filled.get("face"):
            intake["frame"] = None if body.round_can else face
            intake["diameter_metre"] = body.face_metre if body.round_can else None
        if length and length != filled.get("length"):
            intake["length_metre"] = length_metre(texts)
        if intake != before:
            self.bin.put_fact(self.motor_name, "intake", intake)

    def facts_lines(self) -> list[str]:
        from coilbench.ui.facts import fact

        rating = self.worked.rating if self.worked else None
        if rating is None:
            return self.summary_lines(self.bin, self.motor_name)
        lines = [fact("from", each) for each in rating.basis]
        if rating.missing:
            lines.append(fact("not known", ", ".join(rating.missing)))
        return lines

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        from coilbench.quantity import format_quantity
        from coilbench.ui.facts import fact

        saved = bin.fact(motor_name, "ratings") or {}
        amperes = [saved.get(key) for key in ("current_ampere", "low_ampere", "high_ampere")]
        if not all(amperes):
            return []
        start, low, high = (format_quantity(each, "ampere") for each in amperes if each)
        return [fact("current", f"start {start}, {low} to {high} a coil")]
