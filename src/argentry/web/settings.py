"""Settings of a server: where it listens, the names it answers to, its limits."""

from __future__ import annotations

import ipaddress
import socket
from contextlib import suppress
from dataclasses import dataclass, replace

from argentry.errors import BadInput

LOOPBACK_NAMES = ("localhost", "127.0.0.1", "[::1]")
KIB = 1024


@dataclass(frozen=True)
class Settings:
    """Settings of one server.

    Attributes
    ----------
    host : str
        Address listened on; a loopback address serves this machine only.
    port : int
        TCP port.
    tls : bool
        True when the server speaks HTTPS itself.
    names : tuple of str
        Further names by which devices may call this server, for example ``"studio.test"``.
    trust_this_machine : bool
        True: a browser on the server's own machine needs no pairing.
    body_bytes : int
        Longest request body. [bytes]
    events_bytes : int
        Longest body of a post of events: a tablet may have been away for a day. [bytes]
    notebook_bytes : int
        Longest file of an old notebook or a list of stock, and longest form of columns. [bytes]
    picture_bytes : int
        Longest picture sent from a page of the desk. [bytes]
    look_bytes : int
        Longest picture sent from the bench. [bytes]
    body_seconds : float
        Longest time a body may take to arrive. [s]
    picture_seconds : float
        The same of a picture. [s]
    comment_seconds : float
        How often an idle stream says that it lives. [s]
    poll_seconds : float
        How often the book is asked for events that other programs wrote. [s]
    plan_ahead : bool
        True: the first page's day is planned before anybody opens it.
    """

    host: str = "127.0.0.1"
    port: int = 8440
    tls: bool = False
    names: tuple[str, ...] = ()
    trust_this_machine: bool = True
    body_bytes: int = 64 * KIB
    events_bytes: int = 1024 * KIB
    notebook_bytes: int = 10 * 1024 * KIB
    picture_bytes: int = 100_000_000
    look_bytes: int = 40_000_000
    body_seconds: float = 30.0
    picture_seconds: float = 60.0
    comment_seconds: float = 15.0
    poll_seconds: float = 0.5
    plan_ahead: bool = False


def is_loopback(host: str) -> bool:
    """Return True when `host` is this machine's own loopback name or address."""
    bare = host.strip("[]").lower()
    if bare == "localhost":
        return True
    try:
        return ipaddress.ip_address(bare).is_loopback
    except ValueError:
        return False


def bracketed(address: str) -> str:
    """Return an address as it stands in a URL: IPv6 in square brackets."""
    return f"[{address}]" if ":" in address and not address.startswith("[") else address


def own_addresses() -> tuple[str, ...]:
    """Return this machine's addresses on its networks, the one of the default route first.

    Notes
    -----
    Connecting a datagram socket sends nothing; it only asks the system for the route. The address
    used, 192.0.2.1, is kept for documentation by RFC 5737.
    """
    found: list[str] = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe, suppress(OSError):
        probe.connect(("192.0.2.1", 9))  # fails where there is no network at all
        found.append(str(probe.getsockname()[0]))
    with suppress(OSError):  # the machine's own name is not known to its resolver
        found += [str(row[4][0]) for row in socket.getaddrinfo(socket.gethostname(), None)]
    return tuple(
        dict.fromkeys(
            address
            for address in found
            if not is_loopback(address) and address != "0.0.0.0"  # noqa: S104 - compared, not bound
        )
    )


def own_names() -> tuple[str, ...]:
    """Return the names this machine gives itself: its host name, plain and under ``.local``."""
    name = socket.gethostname().lower().split(".")[0]
    return (name, f"{name}.local") if name else ()


def allowed_names(settings: Settings) -> frozenset[str]:
    """Return the host names, without port, that a request may call this server by.

    A server on loopback answers to loopback names and the names it was given; one on the network
    also to its own name and addresses. Everything else is refused, so that a foreign page whose
    name is pointed at this machine (DNS rebinding) reaches nothing.
    """
    names = [*LOOPBACK_NAMES, *(name.lower() for name in settings.names)]
    if not is_loopback(settings.host):
        names += [*own_names(), *(bracketed(address) for address in own_addresses())]
        if settings.host not in {"0.0.0.0", "::"}:  # noqa: S104 - compared, not bound
            names.append(bracketed(settings.host).lower())
    return frozenset(names)


def with_port(settings: Settings, port: int) -> Settings:
    """Return the settings with the port that was given by the system."""
    return replace(settings, port=port)


def check_names(settings: Settings) -> None:
    """Refuse a name that is none.

    Raises
    ------
    BadInput
        If a name holds anything but letters, digits, dots and hyphens.
    """
    for name in settings.names:
        parts = name.split(".")
        good = all(part and len(part) < 64 and _label(part) for part in parts)
        if not good or len(name) > 253:
            raise BadInput(
                "--name",
                "{name!r} is not a host name",
                "use a name such as studio.local",
                name=name[:80],
            )


def _label(part: str) -> bool:
    return part.isascii() and part.replace("-", "").isalnum() and part.strip("-") == part


def certified_names(settings: Settings) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the names a certificate of this server must hold, and those the machine has today."""
    asked = ["localhost", "127.0.0.1", "::1", *settings.names]
    if settings.host not in {"0.0.0.0", "::"}:  # noqa: S104 - compared, not bound
        asked.append(settings.host.strip("[]"))
    today = sorted({name.strip("[]") for name in allowed_names(settings)} - set(asked))
    return tuple(dict.fromkeys(asked)), tuple(today)


def addresses(settings: Settings) -> tuple[str, ...]:
    """Return the URLs to tell the maker: this machine's own first, a tablet's last."""
    scheme = "https" if settings.tls else "http"
    names = ["localhost"]
    if not is_loopback(settings.host):
        names += list(settings.names)
        if settings.host in {"0.0.0.0", "::"}:  # noqa: S104 - compared, not bound
            names += [*own_names()[1:], *(bracketed(one) for one in own_addresses()[:1])]
        else:
            names = [*settings.names, bracketed(settings.host)]
    else:
        names += list(settings.names)
    default = 443 if settings.tls else 80
    tail = "" if settings.port == default else f":{settings.port}"
    return tuple(f"{scheme}://{name}{tail}" for name in dict.fromkeys(names))
