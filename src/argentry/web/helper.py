"""A process beside the server that works out what takes long: a press never waits for it.

It is begun when something is first asked of it, keeps what it has learned in memory, and ends when
nobody asked anything for a while, or when the server that began it is gone.
"""

from __future__ import annotations

import asyncio
import json
import logging
import os
import re
import signal
import sys
from contextlib import ExitStack, contextmanager, suppress
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from starlette.types import ASGIApp, Receive, Scope, Send

    from argentry.desk.house import House

LOG = logging.getLogger("argentry.web")
COMMAND = (sys.executable, "-m", "argentry.web.advising")
LONGEST_SECONDS = 1800.0  # by the clock; `argentry.web.advising` ends what keeps busy for minutes
IDLE_SECONDS = 900.0
LONGEST_ANSWER = 2**22  # bytes; a line of advice is some kB, a day's plan some ten
PRESS = re.compile(r"/api/runs/[^/]+/events")
STILL_SECONDS = 0.05  # no longer at once: it may be reading the book, and a press waits for that


class Helper:
    """Answers questions in a process of its own, one at a time.

    Parameters
    ----------
    house : House
        Studio and book.
    """

    def __init__(self, house: House) -> None:
        self._house = house
        self._process: asyncio.subprocess.Process | None = None
        self._ending: asyncio.TimerHandle | None = None
        self._asking = asyncio.Lock()
        self._stops = 0  # presses that are being answered
        self._going_on: asyncio.TimerHandle | None = None

    @property
    def awake(self) -> bool:
        """True while its process is there."""
        return self._process is not None and self._process.returncode is None

    async def ask(self, asked: Mapping[str, Any]) -> Mapping[str, Any]:
        """Return the answer to a question of `argentry.web.advising`; nothing when it fails."""
        async with self._asking:
            return await self._answered(json.dumps(asked) + "\n")

    async def _answered(self, question: str) -> dict[str, Any]:
        if self._ending is not None:
            self._ending.cancel()
        try:
            async with asyncio.timeout(LONGEST_SECONDS):
                if self._process is None or self._process.returncode is not None:
                    self._process = await self._begin()
                assert self._process.stdin is not None
                assert self._process.stdout is not None
                self._process.stdin.write(question.encode())
                await self._process.stdin.drain()
                answer = json.loads(await self._process.stdout.readline())
        except (TimeoutError, OSError, ValueError) as error:  # gone or stuck: begun again next time
            LOG.warning("no answer to %s: its process is gone or stuck (%r)", question[:80], error)
            await self.close()
            return {}
        except asyncio.CancelledError:  # an answer nobody waits for would be taken for the next
            await self.close()
            raise
        self._ending = asyncio.get_running_loop().call_later(IDLE_SECONDS, self._end)
        return dict(answer)

    async def _begin(self) -> asyncio.subprocess.Process:
        from argentry.desk.house import book_address

        address = book_address(self._house)
        begun = asyncio.create_task(
            asyncio.create_subprocess_exec(
                *COMMAND,
                str(self._house.studio_dir),
                stdin=asyncio.subprocess.PIPE,
                stdout=asyncio.subprocess.PIPE,
                limit=LONGEST_ANSWER,
                env=os.environ if address is None else {**os.environ, "ARGENTRY_BOOK": address},
            )
        )
        try:
            return await asyncio.shield(begun)
        except asyncio.CancelledError:  # a process begun meanwhile must be known, to be ended
            self._process = await begun
            raise

    @contextmanager
    def still(self) -> Iterator[None]:
        """Let the process stand still for a moment, so that a press has the machine to itself."""
        self._stops += 1
        if self._stops == 1 and self._signal("SIGSTOP"):
            self._going_on = asyncio.get_running_loop().call_later(STILL_SECONDS, self._go_on)
        try:
            yield
        finally:
            self._stops -= 1
            if not self._stops:
                self._go_on()

    def _go_on(self) -> None:
        if self._going_on is not None:
            self._going_on.cancel()
            self._going_on = None
            self._signal("SIGCONT")

    def _signal(self, name: str) -> bool:
        """Send a signal to the process; return False where there is none, of either."""
        process, number = self._process, getattr(signal, name, None)
        if process is None or process.returncode is not None or number is None:
            return False
        with suppress(ProcessLookupError):
            process.send_signal(number)
        return True

    async def close(self) -> None:
        """End the process and wait until it is gone."""
        process = self._process
        self._end()
        if process is not None:
            await process.wait()
            if process.stdout is not None:  # its pipe is closed at its end, not when the loop ends
                with suppress(RuntimeError):  # somebody else is reading it to its end
                    await process.stdout.read()

    def _end(self) -> None:
        if self._ending is not None:
            self._ending.cancel()
        if self._process is not None and self._process.returncode is None:
            with suppress(ProcessLookupError):
                self._process.kill()
        self._process = None


class PressFirst:
    """ASGI middleware, behind the guard: the processes beside rest while a press is answered.

    Parameters
    ----------
    app : ASGIApp
        What is behind it.
    helpers : callable
        The processes that stand still.
    """

    def __init__(self, app: ASGIApp, helpers: Callable[[], Sequence[Helper]]) -> None:
        self.app, self.helpers = app, helpers

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, with the machine to itself where it is a press."""
        with ExitStack() as resting:
            posted = scope["type"] == "http" and scope["method"] == "POST"
            if posted and PRESS.fullmatch(scope["path"]):
                for helper in self.helpers():
                    resting.enter_context(helper.still())
            await self.app(scope, receive, send)
