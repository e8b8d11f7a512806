"""Errors meant for a person become a dialog wherever they arise: a full disk must not take the bench down."""

from __future__ import annotations

from textual.message import Message
from textual.message_pump import MessagePump

from coilbench.errors import CoilbenchError
from coilbench.ui.bench import bench_of


class ShowsProblems(MessagePump):
    """Mixed into whatever handles messages that read or write the bin.

    An exception out of a handler ends the handling widget for good in Textual, and with it the app; this is the one
    place that every handler and every action passes.
    """

    async def _dispatch_message(self, message: Message) -> None:
        try:
            await super()._dispatch_message(message)
        except CoilbenchError as problem:
            bench_of(self.app).show_problem(problem)
