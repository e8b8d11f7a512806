"""The driver at hand: its kind and what it carries, from its chip or as typed."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from coilbench.stages.form import FieldProblem

if TYPE_CHECKING:
    from coilbench.driver.chip import Chip

_SHARE_OF_MAXIMUM = 0.5  # carried without cooling, where nothing tells it: common practice


class AtHand(NamedTuple):
    """A driver. ``limit_words`` goes on after "the 1 A that"; ``note`` is what else is to say of the limit. It takes
    a supply from ``least_volt`` to ``most_volt``, as far as they are known."""

    kind: str | None = None
    limit_peak_ampere: float | None = None
    limit_words: str = "the driver carries"
    chops: bool = True
    note: str = ""
    least_volt: float | None = None
    most_volt: float | None = None

    def takes(self, supply_volt: float) -> bool:
        """Whether it runs on such a supply, and survives it."""
        least, most = self.least_volt, self.most_volt
        return (least is None or supply_volt >= least) and (most is None or supply_volt <= most)


def driver_at_hand(text: str) -> AtHand:
    """The driver typed: its chip's name, or the most it carries; nothing known of it where the text is empty.

    What a chip carries on a bare board counts, never its absolute maximum. Raises FieldProblem for the field
    ``driver``, InputProblem for a chip that isn't known.
    """
    text = text.strip()
    if not text:
        return AtHand()
    if text[0].isalpha():
        from coilbench.driver.catalogue import find
        from coilbench.records.own_chips import own_chips

        chip = find(text, own_chips())
        return _with_chip(chip)._replace(least_volt=chip.supply_min_volt, most_volt=chip.supply_max_volt)
    from coilbench.quantity import QuantityError, parse_quantity

    try:
        return AtHand(limit_peak_ampere=parse_quantity(text, "ampere", bare=True))
    except QuantityError:
        wanted = "expected its chip such as A4988, or the most it carries such as 1.5 A"
        raise FieldProblem("driver", f"{text!r} is no driver, {wanted}") from None


def _with_chip(chip: Chip) -> AtHand:
    from coilbench.driver.carried import carried

    kind, chops = "unipolar" if chip.motor == "unipolar" else "bipolar", chip.formula.regulates
    found = carried(chip)
    words = f"a bare {chip.chip} board carries"
    if found is not None:
        return AtHand(kind, found.peak_ampere, words, chops)
    if chip.most_peak_ampere is None:
        return AtHand(kind, chops=chops, note=f"what {chip.chip} carries is not known: give it as amperes")
    limit = _SHARE_OF_MAXIMUM * chip.most_peak_ampere
    note = (
        f"what {chip.chip} carries without cooling is told nowhere: half of its absolute maximum of "
        f"{chip.most_peak_ampere:.3g} A is taken (common practice)"
    )
    return AtHand(kind, limit, words, chops, note)
