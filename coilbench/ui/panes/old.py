"""Panes that still do the work of their stage themselves."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from coilbench.stages.desk import Desk
from coilbench.stages.stage import Stage
from coilbench.ui.panes.base import StagePane

if TYPE_CHECKING:
    from coilbench.records.store import Bin


class OldPane(StagePane[Stage]):
    def __init__(self, motor_name: str, bin: Bin) -> None:
        super().__init__(Stage(Desk(bin, motor_name)))

    @property
    def motor_name(self) -> str:
        return self.desk.motor

    @property
    def bin(self) -> Bin:
        return self.desk.bin

    def read_again(self) -> None:
        self.refresh_from_bin()

    def refresh_from_bin(self) -> None: ...

    def facts_lines(self) -> list[str]:
        return self.summary_lines(self.bin, self.motor_name)

    @classmethod
    def summary_lines(cls, bin: Bin, motor_name: str) -> list[str]:
        return []


class JudgingPane(OldPane):
    waiting = True

    def judge(self, worked_out: Callable[[], object]) -> None:
        self.work_out(worked_out)

    def show_worked_out(self, result: Any) -> None:
        self.show_judged(result)

    def show_judged(self, result: Any) -> None: ...
