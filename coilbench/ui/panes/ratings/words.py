"""What the ratings stage says of what it worked out."""

from __future__ import annotations

from coilbench.ui.panes.ratings.forms import FormId, Worked


def answer_lines(worked: Worked, form: FormId) -> list[str]:
    """The answer in short lines, the figure to begin with first."""
    from coilbench.quantity import format_quantity

    lines = []
    rating = worked.rating
    if rating is not None:
        start, best, low, high = (
            format_quantity(value, "ampere", 2)
            for value in (rating.start_ampere, rating.estimate_ampere, rating.low_ampere, rating.high_ampere)
        )
        if low.endswith(" A"):  # one unit for both ends, where it is the same
            low = low.removesuffix(" A")
        lines += [
            f"start with {start} a coil",
            f"{low} to {high}, best {best}",
            f"{rating.rise_kelvin:g} K rise, two phases on",
        ]
        if rating.holding_torque_newton_metre is not None:
            torque = format_quantity(rating.holding_torque_newton_metre, "newton_metre", 2)
            lines.append(f"holds {torque} at the best")
    soak = worked.soak
    if soak is not None:
        lines.append(
            f"soak {soak.winding_celsius:.0f} °C, rise {soak.rise_kelvin:.0f} ±{soak.plus_minus_kelvin:.0f} K"
        )
        lines.append(f"needs class {soak.thermal_class or 'above H'}, by rise")
        if worked.soak_current_ampere is not None:
            lines.append(f"{format_quantity(worked.soak_current_ampere, 'ampere')} gives the wanted rise")
    if worked.spin is not None:
        lines.append(f"{worked.spin.torque_constant:.2g} N·m/A, one coil")
    if worked.drill_limit_rpm is not None and form == "spin":
        lines.append(f"400 Hz meter: under {worked.drill_limit_rpm:.0f} rpm")
    return lines


def notes_of(worked: Worked | None) -> list[str]:
    """The further sentences, warnings first."""
    if worked is None:
        return []
    notes = [*worked.notes, *(worked.soak.notes if worked.soak else ())]
    return [*(worked.rating.notes if worked.rating else ()), *notes]
