"""The ports that a helper board may be on."""

from __future__ import annotations

from dataclasses import dataclass

PORT_TYPED = (
    "A port that isn't listed: its name, such as /dev/pts/3 or COM12, or its address on the network, such as "
    "socket://bench.local:4000 or rfc2217://bench.local:4000."
)
PORT_EXAMPLE = "type the port's name, such as /dev/pts/3 or socket://HOST:NUMBER"
VIRTUAL = "virtual://"


@dataclass(frozen=True)
class PortChoice:
    """A port to choose: its URL and what to call it; ``usb`` for a board on USB."""

    url: str
    words: str
    usb: bool = False

    @property
    def is_likely(self) -> bool:
        """Whether a board may be taken to be on it: a port that is built into the machine has none of itself."""
        return self.usb or self.url.startswith(VIRTUAL)


def real_ports() -> list[PortChoice]:
    """The serial ports there are, USB boards first, with what the system knows of them."""
    from serial.tools.list_ports import comports

    found = sorted(comports(), key=lambda port: (port.vid is None, port.device))
    return [
        PortChoice(port.device, port_words(port.device, port.description, port.vid), port.vid is not None)
        for port in found
    ]


def port_words(device: str, description: str | None, vendor: int | None) -> str:
    """A port in a few words."""
    name = device.rsplit("/", 1)[-1]
    if vendor is None:
        return f"{name}: built in, no USB board"
    return f"{name}: {description if description and description not in ('n/a', device, name) else 'a USB board'}"


def with_options(url: str, options: dict[str, str]) -> str:
    """A virtual port's URL with these options, but those that it has already; any other URL as it is."""
    if not url.startswith(VIRTUAL):
        return url
    for name, value in options.items():
        if f"{name}=" not in url:
            url += f"{'&' if '?' in url else '?'}{name}={value}"
    return url
