"""One-time codes that pair a device on the studio's network, and how often they may be tried."""

from __future__ import annotations

import hmac
import ipaddress
import json
import logging
import math
import secrets
import time
from collections import Counter, deque
from collections.abc import Callable
from pathlib import Path
from threading import Lock

from argentry.files import write_whole
from argentry.keeping.clock import seconds_passed
from argentry.web.limits import Refused

LOG = logging.getLogger("argentry.web")
KEPT = "wrong-codes.json"  # in the studio folder: when and from where, never what was typed
CODE_DIGITS = 8
CODE_SECONDS = 600.0
CODE_TRIES = 5
REST_SECONDS = 20.0  # a page on the network may ask the host for a code no more often
DAY_SECONDS = 86_400.0
ADDRESS_TRIES = 20  # wrong codes from one address in a day
DAY_TRIES = 100  # wrong codes from all of them together
V6_HOME = 64  # bits; within one such network a machine may take any address it likes

VOID = "Pairing: the code was tried {tries} times and is no longer valid. Last from {address}."
CLOSED = (
    "Pairing is closed to {address}: {tries} wrong codes in a day. A code that the host asks for "
    "on the page Devices still works."
)
CEILING = (
    "Too many wrong codes came in today. Ask for a code on the host's own screen, page Devices."
)


def _random_code() -> str:
    return f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}d}"


def origin_of(address: str) -> str:
    """Return what counts as one address: an IPv6 network of one home, or the address itself."""
    try:
        parsed = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return address
    if isinstance(parsed, ipaddress.IPv4Address):
        return str(parsed)
    if parsed.ipv4_mapped is not None:
        return str(parsed.ipv4_mapped)
    return str(ipaddress.ip_network((parsed, V6_HOME), strict=False))


class Pairing:
    """The one code that is good now, and how often it was tried.

    Parameters
    ----------
    show : callable
        Is given each new code, grouped, to show it on the host's own screen.
    clock : callable
        Seconds that only go forward.
    make : callable
        Makes a code of eight digits.
    say : callable
        Is given a sentence for the host's own screen when somebody guesses.
    folder : Path, optional
        Where the day's wrong codes are kept, so that a new start forgets none.
    wall : callable
        Seconds since 1970, by which their age is known after a new start.
    """

    def __init__(
        self,
        show: Callable[[str], None] = lambda _: None,
        clock: Callable[[], float] = seconds_passed,
        make: Callable[[], str] = _random_code,
        say: Callable[[str], None] = lambda _: None,
        folder: Path | None = None,
        wall: Callable[[], float] = time.time,
    ) -> None:
        self._file, self._wall = folder and folder / KEPT, wall
        self._show, self._clock, self._make, self._say = show, clock, make, say
        self._code = ""
        self._by_host = False
        self._until = 0.0
        self._rests_until = -math.inf
        self._tries = 0
        self._wrong: deque[tuple[float, str]] = deque(self._kept())
        self._lock = Lock()

    def new_code(self, *, by_host: bool, address: str = "") -> str:
        """Make a new code, show it on the host and return it; the one before is void.

        A device that asks while a code is good has that one shown once more.

        Parameters
        ----------
        by_host : bool
            True when the host itself asks: it need not wait, and its code may be tried even when
            the day's wrong codes are used up.
        address : str
            Where the request comes from.

        Raises
        ------
        Refused
            429 when a device asks again within `REST_SECONDS`, whatever became of the last code,
            or after too many wrong codes.
        """
        with self._lock:
            now = self._clock()
            if not by_host:
                if now < self._rests_until:
                    raise Refused(
                        429,
                        "A code was shown a moment ago. Ask again in {rest_seconds:g} s.".format(
                            rest_seconds=REST_SECONDS
                        ),
                    )
                self._check_day(origin_of(address), now)
            self._rests_until = now + REST_SECONDS
            if by_host or not self._good(now):
                self._code, self._until, self._by_host = self._make(), now + CODE_SECONDS, by_host
                self._tries = CODE_TRIES
            code = self._code
        shown = grouped(code)
        self._show(shown)
        return shown

    def redeem(self, given: str, address: str = "") -> None:
        """Use the code up.

        Raises
        ------
        Refused
            403 when it is wrong, 410 when there is no code that is good now, 429 after too many
            wrong ones in a day.
        """
        digits = "".join(letter for letter in given if letter not in " -\u2009\u00a0")
        origin = origin_of(address)
        with self._lock:
            now = self._clock()
            if not self._good(now):
                self._code = ""
                raise Refused(
                    410, "No code is valid now. Ask for a new one; it appears on the host's screen."
                )
            if not self._by_host:
                self._check_day(origin, now)
            self._tries -= 1
            if hmac.compare_digest(digits.encode(), self._code.encode()):
                self._code = ""
                return
            left, told = self._tries, self._note(origin, now)
            if left == 0:
                self._code = ""
        for sentence in told:
            self._say(sentence)
        if left == 0:
            raise Refused(
                403, "The code is wrong and no longer valid. Ask for a new one on the host."
            )
        raise Refused(
            403,
            "The code is wrong. Look at the host's screen; {left} tries are left.".format(
                left=left
            ),
        )

    def wrong_today(self) -> dict[str, int]:
        """Return how many wrong codes came from which address within a day."""
        with self._lock:
            self._forget(self._clock())
            return dict(Counter(origin for _, origin in self._wrong).most_common())

    def _kept(self) -> list[tuple[float, str]]:
        """Return the wrong codes of earlier servers; one of the future counts as of now."""
        try:
            kept = json.loads(self._file.read_text(encoding="utf-8")) if self._file else []
            ages = [(max(0.0, self._wall() - float(at)), str(origin)) for at, origin in kept]
        except (OSError, ValueError, TypeError):  # none yet, or not ours
            return []
        now = self._clock()
        return sorted((now - age, origin) for age, origin in ages)[-DAY_TRIES:]

    def _keep(self, now: float) -> None:
        if self._file is None:
            return
        kept = [(round(self._wall() - (now - at), 3), origin) for at, origin in self._wrong]
        try:
            write_whole(self._file, json.dumps(kept) + "\n")
        except OSError as error:
            LOG.warning("wrong codes are not kept: %s", error.strerror)

    def _good(self, now: float) -> bool:
        return bool(self._code) and now < self._until and self._tries > 0

    def _forget(self, now: float) -> None:
        while self._wrong and now - self._wrong[0][0] >= DAY_SECONDS:
            self._wrong.popleft()

    def _check_day(self, origin: str, now: float) -> None:
        self._forget(now)
        mine = sum(1 for _, other in self._wrong if other == origin)
        if len(self._wrong) >= DAY_TRIES or mine >= ADDRESS_TRIES:
            raise Refused(429, CEILING)

    def _note(self, origin: str, now: float) -> list[str]:
        """Keep a wrong try in mind and return what to tell the host."""
        self._forget(now)
        self._wrong.append((now, origin))
        self._keep(now)
        told = []
        if self._tries == 0:
            told.append(VOID.format(tries=CODE_TRIES, address=origin or "?"))
        mine = sum(1 for _, other in self._wrong if other == origin)
        if len(self._wrong) == DAY_TRIES:
            told.append(CLOSED.format(address="all devices", tries=DAY_TRIES))
        elif mine == ADDRESS_TRIES:
            told.append(CLOSED.format(address=origin or "?", tries=ADDRESS_TRIES))
        return told


def grouped(code: str) -> str:
    """Return a code in two groups of four, as it is shown."""
    return f"{code[:4]} {code[4:]}"
