"""A new plan beside the bench in a terminal, as the server makes it beside the page."""

from __future__ import annotations

import json
import os
import select
import subprocess
import sys
import time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from argentry.desk.bench.replan import Considered
    from argentry.desk.bench.seat import Seat

LOOK_S = 20.0
FAILED_S = 300.0  # a run that cannot be planned is not tried at every look


class Beside:
    """Has a new plan made in a process of its own when the plates are off theirs; never waits.

    Parameters
    ----------
    seat : Seat
        The terminal's.
    folder : Path
        Studio folder.
    address : str or None
        Of a PostgreSQL book.
    command : sequence of str, optional
        What answers, a question a line.
    """

    def __init__(
        self, seat: Seat, folder: Path, address: str | None, command: Sequence[str] = ()
    ) -> None:
        self._seat, self._folder, self._address = seat, folder, address
        usual = (sys.executable, "-m", "argentry.web.advising", str(folder))
        self._command = list(command or usual)
        self._process: subprocess.Popen[str] | None = None
        self._considered: dict[str, Considered] = {}
        self._asked, self._next = False, 0.0

    def look(self) -> None:
        """Take in an answer that has come, else ask for a plan where one is wanted."""
        from argentry.desk.bench.replan import runs_to_plan

        if self._asked:
            self._take_in()
            return
        if time.monotonic() < self._next:
            return
        self._next = time.monotonic() + LOOK_S
        seat = self._seat
        wanted = runs_to_plan(seat.book, self._folder, seat.clock, self._considered)
        if seat.run in wanted:
            self._ask(wanted[seat.run])

    def _ask(self, why: str) -> None:
        from argentry.bench.state_json import iso

        if self._process is None:
            more = {} if self._address is None else {"ARGENTRY_BOOK": self._address}
            self._process = subprocess.Popen(  # noqa: S603 - our own module
                self._command,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
                env={**os.environ, **more},
            )
        assert self._process.stdin is not None
        question = {"replan": self._seat.run, "why": why, "now": iso(self._seat.clock.now())}
        try:
            self._process.stdin.write(json.dumps(question) + "\n")
            self._process.stdin.flush()
            self._asked = True
        except OSError:
            self._failed()

    def _take_in(self) -> None:
        from argentry.desk.bench.replan import say_plan

        assert self._process is not None
        assert self._process.stdout is not None
        if not select.select([self._process.stdout], [], [], 0.0)[0]:
            return
        self._asked = False
        line = self._process.stdout.readline()
        body = json.loads(line) if line else {}
        if not body:
            self._failed()
            return
        seat = self._seat
        said, considered = say_plan(seat.book, self._folder, seat.run, body, seat.clock)
        if considered is not None:
            self._considered[seat.run] = considered
        if said == "overtaken":
            self._next = 0.0

    def _failed(self) -> None:
        self.close()
        self._next = time.monotonic() + FAILED_S

    def close(self) -> None:
        """End the process."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            for pipe in (self._process.stdin, self._process.stdout):
                if pipe is not None:
                    pipe.close()
        self._process, self._asked = None, False
