"""The one place that opens a connection to a weather service."""

from __future__ import annotations

import random
import time
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urljoin, urlsplit

from argentry.errors import BadInput

SECONDS, LARGEST_BYTES = 10.0, 1_000_000
TRIES, MOST_MOVES = 2, 3
LOOPBACK = ("127.0.0.1", "localhost", "::1")
MOVED = (301, 302, 303, 307, 308)

NOT_SAFE = "{url} is not an https address"
GIVE_HTTPS = "give one that begins with https://; plain http only on this machine"
UNREACHED = "it cannot be reached ({why})"
LOOK_AT_NET = "look at the network, then: argentry weather fetch"
TOO_SLOW = "it did not answer in full within {seconds:g} s"
TOO_LARGE = "its answer is larger than {megabytes:g} MB"
CUT_SHORT = "its answer was cut short"
LATER = "try again later: argentry weather fetch"
MOVED_AROUND = "it sends the question around in a circle"


@dataclass(frozen=True)
class Reply:
    """What came back.

    Attributes
    ----------
    status : int
        Of HTTP.
    headers : Mapping[str, str]
        Names in lower case.
    body : bytes
        Unpacked.
    """

    status: int
    headers: Mapping[str, str]
    body: bytes


def get(title: str, url: str, headers: Mapping[str, str], *, seconds: float = SECONDS) -> Reply:
    """Ask an address once more at most, and return what it answers, whatever its status.

    Parameters
    ----------
    title : str
        Of the service, for the sentence.
    url : str
        Https; plain http only on this machine.
    headers : Mapping[str, str]
        Sent along.
    seconds : float
        For the whole answer. [s]

    Raises
    ------
    BadInput
        If it cannot be reached, is too slow or too large, or is cut short.
    """
    import httpx

    for attempt in range(TRIES):
        last = attempt == TRIES - 1
        try:
            reply = _followed(title, url, headers, seconds)
        except httpx.TimeoutException:
            raise BadInput(title, TOO_SLOW, LATER, seconds=seconds) from None
        except httpx.RemoteProtocolError:
            if last:
                raise BadInput(title, CUT_SHORT, LATER) from None
        except httpx.HTTPError as error:
            if last:
                why = str(error) or type(error).__name__
                raise BadInput(title, UNREACHED, LOOK_AT_NET, why=why[:120]) from None
        else:
            if reply.status < 500 or last:
                return reply
        time.sleep(random.uniform(0.2, 1.0))  # noqa: S311 - so that not all ask again at once
    raise AssertionError


def _followed(title: str, url: str, headers: Mapping[str, str], seconds: float) -> Reply:
    for _ in range(MOST_MOVES + 1):
        reply = _once(title, url, headers, seconds)
        if reply.status not in MOVED or "location" not in reply.headers:
            return reply
        url = urljoin(url, reply.headers["location"])
    raise BadInput(title, MOVED_AROUND, LATER)


def _once(title: str, url: str, headers: Mapping[str, str], seconds: float) -> Reply:
    import httpx

    parts = urlsplit(url)
    here = parts.hostname in LOOPBACK
    if parts.scheme != "https" and not (here and parts.scheme == "http"):
        raise BadInput(title, NOT_SAFE, GIVE_HTTPS, url=url[:80])
    ends = time.monotonic() + seconds
    body = b""
    with (
        httpx.Client(timeout=min(seconds, 5.0), trust_env=not here) as client,
        client.stream("GET", url, headers=dict(headers)) as answer,
    ):
        for part in answer.iter_bytes():
            body += part
            if len(body) > LARGEST_BYTES:
                raise BadInput(title, TOO_LARGE, LATER, megabytes=LARGEST_BYTES / 1e6)
            if time.monotonic() > ends:
                raise httpx.ReadTimeout("")
        found = {name.lower(): value for name, value in answer.headers.items()}
        return Reply(answer.status_code, found, body)
