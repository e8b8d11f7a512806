"""What the screen adds to the diagnosis: its own size, colours and keys."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from coilbench.ui.app import BenchApp


def diagnosis_text(app: BenchApp) -> str:
    """Versions, paths, terminal, config and ports, with what the running screen knows."""
    from coilbench.records.diagnosis import diagnosis

    lines = [
        diagnosis(app.bin_path),
        f"screen       {app.size.width}x{app.size.height}, colours {app.theme}",
        f"bin open     {'the demo' if app.demo else 'yes' if app.is_bin_open else 'no'}",
    ]
    return "\n".join(lines)
