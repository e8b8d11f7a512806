"""Fields of the forms: a number alone is taken in the unit that its field says, everywhere alike."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Iterator

import pytest

import coilbench.stages
from coilbench.quantity import parse_quantity
from coilbench.stages.form import Field, FormStage

# Printed in N m, N cm and kg cm alike: no unit goes without saying.
IN_SEVERAL_UNITS = {"newton_metre", "farad"}


def forms(of: type = FormStage) -> Iterator[type]:
    for each in of.__subclasses__():
        yield each
        yield from forms(each)


def figures() -> list[tuple[str, Field]]:
    for module in pkgutil.walk_packages(coilbench.stages.__path__, "coilbench.stages."):
        importlib.import_module(module.name)
    found = {each.__name__: each for each in forms() if each.__module__.startswith("coilbench.stages.")}
    return [(name, field) for name, form in sorted(found.items()) for field in form.FIELDS if field.unit]  # type: ignore[attr-defined]


@pytest.mark.parametrize(("form", "field"), figures(), ids=lambda each: getattr(each, "id", each))
def test_a_number_alone_is_taken_in_the_unit_the_field_says(form: str, field: Field) -> None:
    if field.unit in IN_SEVERAL_UNITS:
        assert field.bare is None, form
        return
    assert field.bare is not None, form
    assert field.unit is not None
    assert (
        field.figure("12.5")
        == field.figure("12,5")
        == pytest.approx(parse_quantity(f"12.5 {field.bare}", field.unit))
    )
    example = field.hint.split()[-1]
    if not example[-1].isdigit() and field.hint[0].isdigit():  # what the hint shows is in that unit
        number = field.hint.split()[0]
        assert field.figure(number) == pytest.approx(field.figure(field.hint)), form
