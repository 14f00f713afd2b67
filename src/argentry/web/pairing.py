"""One-time codes that pair a device on the studio's network."""

from __future__ import annotations

import hmac
import secrets
import time
from threading import Lock
from typing import TYPE_CHECKING

from argentry.web.limits import Refused

if TYPE_CHECKING:
    from collections.abc import Callable

CODE_DIGITS = 8
CODE_SECONDS = 600.0
CODE_TRIES = 5
REST_SECONDS = 20.0  # a page on the network may ask the host for a code no more often


def _random_code() -> str:
    return f"{secrets.randbelow(10**CODE_DIGITS):0{CODE_DIGITS}d}"


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
    """

    def __init__(
        self,
        show: Callable[[str], None] = lambda _: None,
        clock: Callable[[], float] = time.monotonic,
        make: Callable[[], str] = _random_code,
    ) -> None:
        self._show, self._clock, self._make = show, clock, make
        self._code = ""
        self._until = self._made = -CODE_SECONDS
        self._tries = 0
        self._lock = Lock()

    def new_code(self, *, by_host: bool) -> str:
        """Make a new code, show it on the host and return it; the one before is void.

        Parameters
        ----------
        by_host : bool
            True when the host itself asks: it need not wait.

        Raises
        ------
        Refused
            429 when a device asks again within `REST_SECONDS`.
        """
        with self._lock:
            now = self._clock()
            if not by_host and self._code and now - self._made < REST_SECONDS:
                raise Refused(
                    429,
                    "A code was shown a moment ago. Ask again in {rest_seconds:g} s.".format(
                        rest_seconds=REST_SECONDS
                    ),
                )
            self._code, self._made, self._until = self._make(), now, now + CODE_SECONDS
            self._tries = CODE_TRIES
            code = self._code
        shown = grouped(code)
        self._show(shown)
        return shown

    def redeem(self, given: str) -> None:
        """Use the code up.

        Raises
        ------
        Refused
            403 when it is wrong, 410 when there is no code that is good now.
        """
        digits = "".join(letter for letter in given if letter not in " -\u2009\u00a0")
        with self._lock:
            if not self._code or self._clock() >= self._until or self._tries <= 0:
                self._code = ""
                raise Refused(
                    410, "No code is valid now. Ask for a new one; it appears on the host's screen."
                )
            self._tries -= 1
            if not hmac.compare_digest(digits.encode(), self._code.encode()):
                left = self._tries
                if left == 0:
                    self._code = ""
                    raise Refused(
                        403, "The code is wrong and no longer valid. Ask for a new one on the host."
                    )
                raise Refused(
                    403,
                    "The code is wrong. Look at the host's screen; {left} tries are left.".format(
                        left=left
                    ),
                )
            self._code = ""


def grouped(code: str) -> str:
    """Return a code in two groups of four, as it is shown."""
    return f"{code[:4]} {code[4:]}"
