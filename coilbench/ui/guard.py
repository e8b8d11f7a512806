"""The one place that every error of a handler passes: it becomes a page over the sheet, and the bench goes on.

Textual ends a widget for good whose handler raises, and the app with it, its own widgets not excepted: what a hand
does in the wrong instant must not cost the sheet, nor leave a motor turning.
"""

from __future__ import annotations

from textual.app import App
from textual.message import Message
from textual.message_pump import MessagePump

from coilbench.ui.bench import Bench

_dispatch = MessagePump._dispatch_message


async def _dispatch_guarded(pump: MessagePump, message: Message) -> None:
    try:
        await _dispatch(pump, message)
    except Exception as error:
        app = pump if isinstance(pump, App) else pump.app
        if not isinstance(app, Bench):
            raise
        app.met(error)


def guard_handlers() -> None:
    """Have every widget's messages pass here; there is no hook of Textual's that sees them all."""
    MessagePump._dispatch_message = _dispatch_guarded  # type: ignore[method-assign, assignment]
