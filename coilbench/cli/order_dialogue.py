"""Phase order and half pairing by hand tests on plain lines or JSON lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from coilbench.cli.dialogue import put_json, read_line, say
from coilbench.cli.windings_show import print_page
from coilbench.errors import InputProblem
from coilbench.stages.desk import Desk
from coilbench.stages.order.five_leads import desk_of_five
from coilbench.stages.order.scene import AskedTest
from coilbench.stages.order.stage import OrderStage
from coilbench.stages.windings.stage import WindingsStage

_MOST_TESTS = 60  # more than any motor needs: something else answers


def order_after(stage: WindingsStage, way: str | None, *, as_json: bool, ascii_only: bool) -> int:
    """The tests that a sorted motor still needs, by the way that was chosen, then its result."""
    return order_in_json(stage, way) if as_json else order_in_words(stage, way, ascii_only=ascii_only)


def order_in_json(stage: WindingsStage, way: str | None) -> int:
    """JSON lines: one test asked a line, one answer read; ends with the result, its order filled in."""
    stage.finish()
    order = _order_by(stage.desk, way)
    _json_tests(order)
    put_json({"result": stage.result()})
    return _status(stage, order)


def order_in_words(stage: WindingsStage, way: str | None, *, ascii_only: bool) -> int:
    """The same for people; where there is nothing to test, it says why."""
    stage.finish()
    order = _order_by(stage.desk, way)
    if order.verdict is None:
        say(f"Phase order: {order.state.title}. {order.state.text}", ascii_only=ascii_only)
        say(ascii_only=ascii_only)
    if order.test is not None:
        print_page(stage.page(order.verdict, ascii=ascii_only), ascii_only=ascii_only)
        _word_tests(order, ascii_only)
        say(ascii_only=ascii_only)
    print_page(stage.page(order.verdict, ascii=ascii_only), ascii_only=ascii_only)
    return _status(stage, order)


def order_of_five(leads: Sequence[str], common: str, way: str | None, *, as_json: bool) -> int:
    """The tests of a five-lead motor whose common lead is known already.

    Raises InputProblem for another number of leads or a common that isn't among them.
    """
    desk = desk_of_five(leads, common)
    with desk.bin:
        order = _order_by(desk, way)
        if as_json:
            _json_tests(order)
            put_json({"result": order.result()})
        else:
            _word_tests(order, ascii_only=False)
            for line in order.sentences():
                say(line)
        return 0 if order.state.done else 3


def _order_by(desk: Desk, way: str | None) -> OrderStage:
    """The tests, by a way where it tells something of this motor."""
    order = OrderStage(desk)
    if way is not None and way in order.ways:
        order.choose(way)
    return order


def _status(stage: WindingsStage, order: OrderStage) -> int:
    return 0 if stage.state.named and (order.question is None or order.state.done) else 3


def _json_tests(order: OrderStage) -> None:
    def ask(test: AskedTest) -> None:
        put_json(
            {
                "test": test.kind,
                "reference": test.reference,
                "touch": test.touched,
                "steps": [*test.steps, test.asks],
                "cautions": list(test.cautions),
                "way": order.way,
                "answers": list(test.answers),
            }
        )

    _tests(order, ask, lambda _: None, echo=False)


def _word_tests(order: OrderStage, ascii_only: bool) -> None:
    cautioned: set[tuple[str, ...]] = set()

    def ask(test: AskedTest) -> None:
        say(ascii_only=ascii_only)
        if test.cautions not in cautioned:
            cautioned.add(test.cautions)
            for caution in test.cautions:
                say(f"caution: {caution}", ascii_only=ascii_only)
        for number, step in enumerate((*test.steps, test.asks), 1):
            say(f"{number}. {step}", ascii_only=ascii_only)
        say(f"  {test.why}", ascii_only=ascii_only)
        for number, words in enumerate(test.words, 1):
            say(f"  answer {number}  {words}", ascii_only=ascii_only)
        also = f"; way ({order.state.others})" if order.state.others else ""
        say(f"  or type undo; redo; quit{also}", ascii_only=ascii_only)
        print("seen> ", end="", flush=True)

    _tests(order, ask, lambda text: say(text, ascii_only=ascii_only), echo=True)


def _tests(
    order: OrderStage, ask: Callable[[AskedTest], None], complain: Callable[[str], None], *, echo: bool
) -> None:
    """Ask test after test until the order is known, the input ends, or more were made than any motor needs."""
    made = 0
    while (test := order.state.test) is not None and made < _MOST_TESTS:
        ask(test)
        line = read_line(echo=echo)
        if line is None or line.lower() in ("quit", "q"):
            return
        if line.lower() == "undo":
            complain("taken back" if order.undo() is not None else "nothing to take back")
            continue
        if line.lower() == "redo":
            complain("done again" if order.redo() is not None else "nothing to do again")
            continue
        try:
            if line.lower() == "way":
                complain(f"now {order.choose_next()}")
                continue
            order.answer(line)
        except InputProblem as problem:
            complain(str(problem))
            continue
        made += 1
        for doubt in order.state.doubts:
            complain(doubt)
