"""What the screen adds to the diagnosis: its own size, colours and keys."""

from __future__ import annotations

from coilbench.ui.bench import Bench


def diagnosis_text(app: Bench) -> str:
    """Versions, paths, terminal, config and ports, with what the running screen knows."""
    from coilbench.records.diagnosis import diagnosis

    if app.demo:
        opened = "the demo, thrown away on quit" if app.is_scratch else "the demo"
    else:
        opened = "yes" if app.is_bin_open else "no"
    lines = [
        diagnosis(app.bin.path if app.is_bin_open else app.bin_path),
        f"screen       {app.size.width}x{app.size.height}, colours {app.theme}",
        f"bin open     {opened}",
    ]
    return "\n".join(lines)
