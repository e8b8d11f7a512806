"""The table that the measurements end in."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Row:
    """One measurement: how it was found, and the most it may be."""

    name: str
    measured: str
    figure: float
    limit: float
    unit: str

    @property
    def within(self) -> bool:
        return self.figure <= self.limit


def show(rows: list[Row]) -> None:
    """Print the rows under each other."""
    cells = [("what", "measured", "figure", "limit", "")]
    for row in rows:
        figure, limit = (f"{value:.3g} {row.unit}" for value in (row.figure, row.limit))
        cells.append((row.name, row.measured, figure, limit, "within" if row.within else "BEYOND"))
    widths = [max(len(line[column]) for line in cells) for column in range(5)]
    for line in cells:
        print("  ".join(f"{cell:<{width}}" for cell, width in zip(line, widths, strict=True)).rstrip())
