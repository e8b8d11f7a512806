"""The one place that every error of a handler passes: it becomes a page over the sheet, and the bench goes on.

Textual ends a widget for good whose handler raises, and the app with it, its own widgets not excepted: what a hand
does in the wrong instant must not cost the sheet, nor leave a motor turning.
"""

from __future__ import annotations

import traceback

from textual.app import App, ScreenStackError
from textual.css.query import NoMatches
from textual.events import InputEvent
from textual.message import Message
from textual.message_pump import MessagePump
from textual.widget import Widget

from coilbench.errors import CoilbenchError
from coilbench.ui.bench import Bench

_CALLS_HANDLERS = "textual._callback"
_dispatch = MessagePump._dispatch_message


async def _dispatch_guarded(pump: MessagePump, message: Message) -> None:
    try:
        await _dispatch(pump, message)
    except Exception as error:
        app = pump if isinstance(pump, App) else pump.app
        if not isinstance(app, Bench):
            raise
        if not came_too_late(pump, error) and not _is_untimely(message, error):
            app.met(error)


def came_too_late(pump: MessagePump | None, error: Exception) -> bool:
    """Whether it failed only for the widget, its screen, or a part the library looked for being gone by then."""
    if isinstance(error, NoMatches | ScreenStackError) and _is_librarys(error):
        return True
    return not isinstance(error, CoilbenchError) and isinstance(pump, Widget) and is_gone(pump)


def is_gone(widget: Widget) -> bool:
    """Whether a widget, or what it stands in, is being taken away, or its screen has been left."""
    if any(node._pruning for node in widget.ancestors_with_self if isinstance(node, Widget)):
        return True
    return not widget.is_attached or widget.screen not in widget.app.screen_stack


def _is_untimely(message: Message, error: Exception) -> bool:
    """Whether a key or click met a part of the library's that is not laid out yet, or has changed since it was drawn:
    a list without its lines, a place where no widget is any more."""
    return (
        isinstance(message, InputEvent)
        and isinstance(error, LookupError | AttributeError | NoMatches)
        and _is_librarys(error)
    )


def _is_librarys(error: Exception) -> bool:
    """Whether none of our own code was at work where it failed: in the last handler that was called, and below it."""
    modules = [str(frame.f_globals.get("__name__")) for frame, _ in traceback.walk_tb(error.__traceback__)]
    called = max((place for place, name in enumerate(modules) if name == _CALLS_HANDLERS), default=0)
    return not any(name.startswith("coilbench.") and name != __name__ for name in modules[called:])


def guard_handlers() -> None:
    """Have every widget's messages pass here; there is no hook of Textual's that sees them all."""
    MessagePump._dispatch_message = _dispatch_guarded  # type: ignore[method-assign, assignment]
