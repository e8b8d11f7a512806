"""What screens, panes and dialogs may ask of the app that they are part of."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING, Any, Protocol, cast

from textual.app import App

if TYPE_CHECKING:
    from asyncio import AbstractEventLoop
    from collections.abc import Callable
    from pathlib import Path

    from coilbench.board.link.ports import PortChoice
    from coilbench.board.virtual.crate import VirtualCrate
    from coilbench.errors import CoilbenchError
    from coilbench.records.config import Config
    from coilbench.records.store import Bin
    from coilbench.stages.machine.work import MachineWork
    from coilbench.stages.to_do import Task


class Session(Protocol):
    """What every session with a board can do at any time, from any thread."""

    def look(self) -> None:
        """Ask for a sign of life."""

    def stop(self) -> None:
        """Stop at once."""


class Bench(App[int]):
    """The app as its parts see it: the open bin, the demo's crate, and ways to tell the person something."""

    bin_path: Path | None
    demo: bool
    config: Config | None
    config_problems: tuple[str, ...]
    virtual: VirtualCrate | None  # the demo's motors
    virtual_options: str  # more of the URL of the demo's board
    virtual_memory: dict[str, str]  # of that, what the board keeps while it is unplugged
    unsaved: dict[tuple[str, str], dict[str, str]]  # texts typed and not saved, by motor and stage
    done: dict[str, set[Task]]  # what was ticked in this sitting, by motor
    loop: AbstractEventLoop | None  # once it runs
    clock: Callable[[], float]  # in seconds
    machine: MachineWork | None = None  # that is built now
    at_work: Session | None = None  # with the board that moves a motor, or did so last

    @abstractmethod
    def ports(self) -> list[PortChoice]:
        """The ports that a helper board may be on; looking takes a moment."""

    @property
    @abstractmethod
    def bin(self) -> Bin:
        """The open bin. Raises CoilbenchError before it is open."""

    @property
    @abstractmethod
    def is_bin_open(self) -> bool:
        """Whether the bin is open by now."""

    @property
    @abstractmethod
    def is_scratch(self) -> bool:
        """Whether the bin is thrown away when the bench is closed."""

    @property
    @abstractmethod
    def plain_characters(self) -> bool:
        """Whether drawings keep to ASCII."""

    @abstractmethod
    def show_problem(self, error: CoilbenchError) -> None:
        """Show an error as title, what happened, what to do."""

    @abstractmethod
    def met(self, error: Exception) -> None:
        """An error came out of a handler: say it, and go on."""

    @abstractmethod
    def tell(self, text: str) -> None:
        """Say something in passing."""


def bench_of(app: App[Any]) -> Bench:
    """The app, as what it is."""
    return cast("Bench", app)
