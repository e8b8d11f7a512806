"""The example machine that comes with the project."""

from __future__ import annotations

from importlib import resources

EXAMPLE = "greenhouse.toml"


def example_text() -> str:
    """The file, to copy and to change."""
    return (resources.files("coilbench.stages.machine") / EXAMPLE).read_text(encoding="utf-8")
