"""What is to be done at the bench, one thing after another, to be ticked.

Ticks belong to a sitting: what was switched off yesterday may be on today, so none is kept in the bin.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

from coilbench.plain_text import in_markdown


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do; ``caution`` belongs right beside it."""

    act: str
    caution: str = ""


def task_lines(number: int, task: Task, *, done: bool) -> list[str]:
    """A task with its box, its caution below."""
    lines = [f"[{'x' if done else ' '}] {number}. {task.act}"]
    return [*lines, f"    caution: {task.caution}"] if task.caution else lines


def as_markdown(title: str, tasks: Sequence[Task], done: Collection[Task]) -> str:
    """The tasks as a list whose boxes can be ticked where Markdown is shown."""
    lines = [f"## {in_markdown(title)}", ""]
    for task in tasks:
        lines.append(f"- [{'x' if task in done else ' '}] {in_markdown(task.act)}")
        if task.caution:
            lines.append(f"  **caution:** {in_markdown(task.caution)}")
    return "\n".join(lines) + "\n"
