"""Five leads of which the common one is known without readings."""

from __future__ import annotations

from collections.abc import Sequence

from coilbench.errors import InputProblem
from coilbench.records.saved.windings import Coil, Windings
from coilbench.stages.desk import Desk, scratch_desk
from coilbench.winding.engine.catalogue import CATALOGUE


def desk_of_five(leads: Sequence[str], common: str) -> Desk:
    """A desk, kept nowhere, for such a motor.

    Raises InputProblem for another number of leads or a common that isn't among them.
    """
    if len(leads) != 5 or common not in leads:
        raise InputProblem(f"common {common!r} with {len(leads)} leads, expected one of five leads")
    arrangement = next(one for one in CATALOGUE if one.two_phase == "common")
    ends = [lead for lead in leads if lead != common]
    coils = tuple(Coil(name=name, ends=(common, end)) for name, end in zip("ABCD", ends, strict=True))
    desk = scratch_desk(leads)
    desk.derive(Windings(arrangement=arrangement.name, confidence=1.0, coils=coils, common=common))
    return desk
