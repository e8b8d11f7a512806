"""What goes wrong between the bench and its helper board, each by symptom, cause and remedy."""

from __future__ import annotations

import errno
from collections.abc import Sequence
from typing import TypeVar

from coilbench.board.link.frames import Value
from coilbench.errors import Fault

F = TypeVar("F", bound="LinkFault")


class LinkFault(Fault):
    """The line to the board can't be used. ``sketchless`` is the port of a board that may want the helper sketch."""

    sketchless: str = ""


class PortMissing(LinkFault):
    """No such port: unplugged, or another name."""


class PortForbidden(LinkFault):
    """The port is there but the system does not let us."""


class PortBusy(LinkFault):
    """Another program has the port."""


class LinkLost(LinkFault):
    """The port went away while it was in use."""


class NoAnswer(LinkFault):
    """The port is open but nothing that speaks comes from it."""


class WrongDevice(LinkFault):
    """Something is there, but not a helper board of a version we speak to."""


class BoardRestarted(LinkFault):
    """The board started anew while we were at work."""

    def __init__(self, why: str) -> None:
        super().__init__(
            f"the board restarted by itself ({why}); the motor is off and its place is lost",
            title="Board restarted",
            remedy="look for a supply that sags or a loose cable, then begin again",
        )


class Refused(Fault):
    """The board understood and said no."""

    def __init__(self, verb: str, word: str, fields: dict[str, Value]) -> None:
        self.verb, self.word, self.fields = verb, word, dict(fields)
        super().__init__(_refusal_text(verb, word, fields), title="The board refused", remedy=_refusal_remedy(word))


class OffLimits(Fault):
    """Not sent at all: the number lies outside what the board said it can do."""


_NOT_REACHED = (errno.ECONNREFUSED, errno.ETIMEDOUT, errno.EHOSTUNREACH, errno.ENETUNREACH)


def port_fault(port: str, problem: BaseException) -> LinkFault:
    """Sort an error of opening or using ``port`` by what the person can do about it."""
    code = getattr(problem, "errno", None)
    text = str(problem).lower()
    # On Windows pyserial wraps the system's error in words only.
    if code == errno.EACCES or "permission" in text or "access is denied" in text:
        return PortForbidden(
            f"{port} is there, but this account may not use it",
            title="Not allowed on this port",
            remedy="on Linux add yourself to the group that owns it (often dialout or uucp), then log out and in; "
            "elsewhere close the program that holds it",
        )
    if (
        code in (errno.ENOTTY, errno.EISDIR, errno.EINVAL)
        or "inappropriate ioctl" in text
        or "is a directory" in text
    ):
        return PortMissing(
            f"{port} is no serial port",
            title="No serial port",
            remedy="look at `coilbench board` for the ports there are",
        )
    if code in _NOT_REACHED or any(words in text for words in ("refused", "timed out", "name or service", "getaddr")):
        return PortMissing(
            f"{port} can't be reached over the network",
            title="Not reached",
            remedy="check the address and the port number, and that the machine there passes its port on",
        )
    if code in (errno.EBUSY, errno.EWOULDBLOCK) or "busy" in text or "exclusively lock" in text:
        return PortBusy(
            f"{port} is in use by another program",
            title="Port busy",
            remedy="close the other bench, serial monitor or modem manager, then try again",
        )
    if code in (errno.ENOENT, errno.ENODEV, errno.ENXIO, errno.ENOTDIR) or "no such" in text or "cannot find" in text:
        return PortMissing(
            f"there is no port {port}",
            title="No such port",
            remedy="plug the board in with a data cable, then look at `coilbench board` for its name",
        )
    if code in (errno.EIO, errno.EBADF, errno.EPIPE) or "disconnected" in text or "is not open" in text:
        return LinkLost(
            f"the board on {port} went away",
            title="Board unplugged",
            remedy="the board stops the motor by itself; plug it in again and reconnect",
        )
    if port.startswith(("socket://", "rfc2217://")) or "protocol" in text:
        return PortMissing(
            f"{port} is no address of a port",
            title="No such address",
            remedy="expected such as socket://HOST:NUMBER or rfc2217://HOST:NUMBER",
        )
    return LinkFault(f"{port} can't be used: {problem}", title="Port trouble", remedy="check the name and the cable")


def no_answer(port: str) -> NoAnswer:
    """Nothing at all came from ``port``."""
    fault = NoAnswer(
        f"nothing answers on {port}",
        title="No answer",
        remedy="check that it is the helper board's port, and press its reset button; `coilbench board flash` puts "
        "the helper sketch on it",
    )
    return _may_want_sketch(fault, port)


def wrong_device(port: str, seen: bytes) -> WrongDevice:
    """Something came from ``port``, but no frame."""
    sample = seen[:24].decode("ascii", "replace")
    shown = "".join(letter if letter.isprintable() else "." for letter in sample)
    fault = WrongDevice(
        f"{port} sends '{shown}', which is no helper board",
        title="Another device",
        remedy="pick the board's port, or put the helper sketch on this board: `coilbench board flash`",
    )
    return _may_want_sketch(fault, port)


def wrong_version(port: str, protocol: int, ours: int) -> WrongDevice:
    """The board speaks another protocol."""
    fault = WrongDevice(
        f"the board on {port} speaks protocol {protocol}, this bench speaks {ours}",
        title="Versions differ",
        remedy="put the helper sketch that came with this bench on the board: `coilbench board flash`",
    )
    return _may_want_sketch(fault, port)


def _may_want_sketch(fault: F, port: str) -> F:
    if "://" not in port:
        fault.sketchless = port
    return fault


def two_alike(port: str, found: Sequence[str]) -> LinkFault:
    """The board that was on ``port`` may be any of ``found``."""
    return LinkFault(
        f"the board that was on {port} may now be on {' or '.join(found)}: they are alike and tell no serial numbers",
        title="Boards alike",
        remedy="unplug the other ones or plug yours into the socket it was in, or choose its port yourself",
    )


_OLDER = "the sketch on it is another one: `coilbench board flash` puts this bench's on it"
_REMEDIES = {
    "verb": _OLDER,
    "field": _OLDER,
    "off": "switch the outputs on first",
    "on": "switch the outputs off first",
    "busy": "wait until it has stopped, or stop it",
    "cannot": "this board has no such part; see its board_config.h",
    "by": "set the board to drive coils first",
    "duty": "let the coils cool and try again",
    "greet": "reconnect",
}


def _refusal_text(verb: str, word: str, fields: dict[str, Value]) -> str:
    if word == "range" and {"at", "low", "high"} <= fields.keys():
        return f"the board allows {fields['at']} of {verb} from {fields['low']} to {fields['high']}"
    if "at" in fields:
        return f"the board does not take the {fields['at']} of {verb}"
    if word == "duty":
        return f"a coil pattern has stood too long; the lines must be off for {fields.get('wait', '?')} ms"
    if word == "busy":
        return f"the board can't {verb} while it is {fields.get('state', 'busy')}"
    return f"the board refused {verb}: {word}"


def _refusal_remedy(word: str) -> str:
    return _REMEDIES.get(word, "")
