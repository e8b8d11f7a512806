"""Phase order and half pairing by hand tests on plain lines or JSON lines."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from coilbench.cli.dialogue import put_json, read_line, say
from coilbench.cli.windings_show import print_page
from coilbench.errors import InputProblem
from coilbench.records.place import Place
from coilbench.records.saved.decode import fact_of
from coilbench.stages.windings.stage import WindingsStage
from coilbench.winding.engine.report import drive_sentences, named, order_fact
from coilbench.winding.order.judging import judge_order, order_question
from coilbench.winding.order.types import NextTest, OrderQuestion, OrderTest, OrderVerdict
from coilbench.winding.order.words import ANSWER_WORDS, parse_answer

_MOST_TESTS = 60


def order_after(stage: WindingsStage, *, as_json: bool, ascii_only: bool) -> int:
    """The tests that a sorted motor still needs, then its result."""
    return order_in_json(stage) if as_json else order_in_words(stage, ascii_only=ascii_only)


def order_in_json(stage: WindingsStage) -> int:
    """JSON lines: one test asked a line, one answer read; ends with the result, its order filled in."""
    question = order_question(stage.judged_last)
    order = _json_tests(question) if question is not None else None
    stage.finish()
    _keep(stage, order)
    put_json({"result": stage.result()})
    return 0 if named(stage.judged_last) and (order is None or order.done) else 3


def order_in_words(stage: WindingsStage, *, ascii_only: bool) -> int:
    """The same for people."""
    question = order_question(stage.judged_last)
    print_page(stage.page(ascii=ascii_only), ascii_only=ascii_only)
    if question is None:
        stage.finish()
        return 0 if named(stage.judged_last) else 3
    order = _word_tests(question, ascii_only)
    stage.finish()
    _keep(stage, order)
    say(ascii_only=ascii_only)
    print_page(stage.page(order, ascii=ascii_only), ascii_only=ascii_only)
    return 0 if order.done else 3


def _keep(stage: WindingsStage, order: OrderVerdict | None) -> None:
    if order is not None and order.done:
        fact = fact_of("order", Place(order_fact(order), "order"))
        assert fact is not None
        stage.desk.derive(fact)


def order_of_five(leads: Sequence[str], common: str, *, as_json: bool) -> int:
    """The tests of a five-lead motor whose common lead is known already.

    Raises InputProblem for another number of leads or a common that isn't among them.
    """
    if len(leads) != 5 or common not in leads:
        raise InputProblem(f"--common {common!r} with {len(leads)} leads, expected one of five leads")
    ends = tuple(lead for lead in leads if lead != common)
    question = OrderQuestion(ends=ends, supply=(common,) * 4)
    if as_json:
        order = _json_tests(question)
        put_json({"result": order_fact(order)})
    else:
        order = _word_tests(question, ascii_only=False)
        for line in drive_sentences(order):
            say(line)
    return 0 if order.done else 3


def _json_tests(question: OrderQuestion) -> OrderVerdict:
    def ask(test: NextTest) -> None:
        put_json(
            {
                "test": test.kind,
                "reference": test.reference,
                "touch": test.touched,
                "steps": list(test.steps),
                "cautions": list(test.cautions),
                "answers": list(test.answers),
            }
        )

    return _tests(question, ask, lambda _: None, echo=False)


def _word_tests(question: OrderQuestion, ascii_only: bool) -> OrderVerdict:
    cautioned: set[str] = set()

    def ask(test: NextTest) -> None:
        say(ascii_only=ascii_only)
        if test.kind not in cautioned:
            cautioned.add(test.kind)
            for caution in test.cautions:
                say(f"caution: {caution}", ascii_only=ascii_only)
        for number, step in enumerate(test.steps, 1):
            say(f"{number}. {step}", ascii_only=ascii_only)
        say(f"  {test.why}", ascii_only=ascii_only)
        choices = ", ".join(f"{answer} ({ANSWER_WORDS[answer]})" for answer in test.answers)
        say(f"  answer {choices}; undo; quit", ascii_only=ascii_only)
        print("seen> ", end="", flush=True)

    return _tests(question, ask, lambda text: say(text, ascii_only=ascii_only), echo=True)


def _tests(
    question: OrderQuestion, ask: Callable[[NextTest], None], complain: Callable[[str], None], *, echo: bool
) -> OrderVerdict:
    """Ask test after test until done, the input ends, or more were made than any motor needs."""
    tests: list[OrderTest] = []
    order = judge_order(question, tests)
    while order.next is not None and len(tests) < _MOST_TESTS:
        test = order.next
        ask(test)
        line = read_line(echo=echo)
        if line is None or line.lower() in ("quit", "q"):
            break
        if line.lower() == "undo":
            complain("taken back" if tests else "nothing to take back")
            del tests[-1:]
        else:
            try:
                answer = parse_answer(line, test.kind)
            except InputProblem as problem:
                complain(str(problem))
                continue
            tests.append(OrderTest(test.kind, test.reference, test.touched, answer))
        order = judge_order(question, tests)
        for odd in order.repeat:
            complain(f"the rest contradicts {odd.reference} then {odd.touched}: {ANSWER_WORDS[odd.answer]}")
    return order
