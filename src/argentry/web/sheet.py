"""The day sheet as PDF, made in a process of its own.

Planning and setting a sheet load libraries of some 200 MB; the server that runs the bench for weeks
stays small when they come and go with the sheet.
"""

from __future__ import annotations

import asyncio
import json
import os
import sys
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError
from argentry.web.limits import Refused

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable, Hashable, Sequence

    from argentry.desk.wishes import Wished

LONGEST_SECONDS = 120.0
CARD, SEASON, MATERIALS = "--meter-card", "--season", "--materials"
LOOK_SECONDS = 0.5  # how soon a sheet that nobody waits for is dropped
MOST_WAITING = 3  # sheets; each takes seconds, and the bench is planned after them


class Sheets:
    """Makes sheets, or plans for a page, one after the other; all who ask the same share it.

    Parameters
    ----------
    one_at_a_time : asyncio.Lock
        Held while a sheet is made: planning takes all the cores.
    """

    def __init__(self, one_at_a_time: asyncio.Lock) -> None:
        self._lock = one_at_a_time
        self._asked: dict[Hashable, tuple[asyncio.Task[Any], list[None]]] = {}

    async def get(
        self,
        question: Hashable,
        make: Callable[[], Awaitable[Any]],
        gone: Callable[[], Awaitable[bool]],
    ) -> Any:
        """Return a sheet; it is dropped when nobody waits for it any more.

        Parameters
        ----------
        question : Hashable
            What is asked.
        make : callable
            Makes it.
        gone : callable
            Says whether the one who asked has gone away.

        Raises
        ------
        Refused
            503 when too many others wait, 499 when the one who asked has gone.
        """
        if question not in self._asked:
            if len(self._asked) >= MOST_WAITING:
                raise Refused(503, "Other day sheets are being made now; try it again in a minute.")
            begun = asyncio.create_task(self._make(make))
            begun.add_done_callback(lambda task: self._forget(question, task))
            self._asked[question] = (begun, [])
        task, waiting = self._asked[question]
        waiting.append(None)
        try:
            while not task.done():
                await asyncio.wait({task}, timeout=LOOK_SECONDS)
                if not task.done() and await gone():
                    raise Refused(499, "Nobody waits for this sheet any more.")
            return task.result()
        finally:
            waiting.pop()
            if not waiting and not task.done():
                task.cancel()
                self._forget(question, task)  # whoever asks now must not wait for what is cancelled

    async def _make(self, make: Callable[[], Awaitable[Any]]) -> Any:
        async with self._lock:
            return await make()

    def _forget(self, question: Hashable, task: asyncio.Task[Any]) -> None:
        if question in self._asked and self._asked[question][0] is task:
            del self._asked[question]


async def sheet_of(
    studio_dir: Path, day: date, plates: int | None, wished: Wished, address: str | None = None
) -> bytes:
    """Return the day sheet of a studio as PDF.

    Parameters
    ----------
    studio_dir : Path
        The studio folder.
    day : date
        In the studio's zone.
    plates : int or None
        How many are wanted; None: as many as the command plans.
    wished : Mapping
        What is asked of this day alone.
    address : str, optional
        Of a PostgreSQL book; handed on by the environment, where no other user reads it.

    Raises
    ------
    Refused
        422 with the reason when the day cannot be planned, 503 when it takes too long.
    """
    asked = (str(studio_dir), day.isoformat(), str(plates or 0), json.dumps(wished))
    return await _printed(asked, address)


async def meter_card_of(studio_dir: Path, day: date, meter: str) -> bytes:
    """Return the card of a light meter as PDF, by the studio's place and glass.

    Parameters
    ----------
    studio_dir : Path
        The studio folder.
    day : date
        In the studio's zone.
    meter : str
        Name of a generic meter; empty: the studio's own.
    """
    return await _printed((CARD, str(studio_dir), day.isoformat(), meter))


async def season_sheet(
    studio_dir: Path, first: date, last: date, at: str, address: str | None = None
) -> bytes:
    """Return a season at a studio, and at another place where one is named, as PDF.

    Parameters
    ----------
    studio_dir : Path
        The studio folder.
    first, last : date
        Its days.
    at : str
        The other place as `argentry.desk.season.read_place` reads it; empty: none.
    address : str, optional
        Of a PostgreSQL book.
    """
    asked = (SEASON, str(studio_dir), first.isoformat(), last.isoformat(), at)
    return await _printed(asked, address)


async def material_sheet(
    studio_dir: Path,
    kind: str,
    names: Sequence[str],
    paper: str,
    base: str,
    address: str | None = None,
    title: str = "",
) -> bytes:
    """Return a label or sheet of materials as PDF.

    Parameters
    ----------
    studio_dir : Path
        The studio folder.
    kind : str
        One of `argentry.out.materials.printing.KINDS`.
    names : sequence of str
        Baths and lots, or plates.
    paper : str
        Name of the paper.
    base : str
        Address of this server, to which the codes lead.
    address : str, optional
        Of a PostgreSQL book.
    title : str
        Of a picture, on its label for the wall.
    """
    asked = (MATERIALS, str(studio_dir), kind, paper, base, title, *names)
    return await _printed(asked, address)


async def _printed(arguments: Sequence[str], address: str | None = None) -> bytes:
    environment = os.environ if address is None else {**os.environ, "ARGENTRY_BOOK": address}
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-m",
        "argentry.web.sheet",
        *arguments,
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
        env=environment,
    )
    try:
        async with asyncio.timeout(LONGEST_SECONDS):
            data, said = await process.communicate()
    except TimeoutError:
        raise Refused(503, "The day sheet takes too long now; try it again later.") from None
    finally:
        if process.returncode is None:  # too long, or nobody waits for it any more
            process.kill()
    if process.returncode == 2:
        raise Refused(422, said.decode(errors="replace").strip())
    if process.returncode != 0:
        raise RuntimeError(f"the day sheet failed: {said.decode(errors='replace')[-2000:]}")
    return data


def main(arguments: list[str]) -> int:
    """Write the sheet of a studio, a date, a number of plates and wishes to standard output.

    With `CARD` before a studio, a date and a meter: the meter's card; with `SEASON` before what
    `season_sheet` is asked: the season; with `MATERIALS` before what `material_sheet` is asked: a
    label or sheet of materials.
    """
    first, *more = arguments
    try:
        data = (
            _card(*more)
            if first == CARD
            else _season(*more)
            if first == SEASON
            else _materials(*more)
            if first == MATERIALS
            else _sheet(*arguments)
        )
    except ArgentryError as error:
        sys.stderr.write(str(error))
        return 2
    sys.stdout.buffer.write(data)
    return 0


def _sheet(folder: str, day: str, plates: str, wished: str) -> bytes:
    from argentry.desk.pages.today import plan_for_page
    from argentry.out.day.sheet_pdf import day_pdf

    address, many = os.environ.get("ARGENTRY_BOOK"), int(plates) or None
    on, now = date.fromisoformat(day), datetime.now(UTC)
    return day_pdf(plan_for_page(Path(folder), address, on, many, json.loads(wished), now))


def _card(folder: str, day: str, meter: str) -> bytes:
    from argentry.desk.pages.meter import meter_of_studio
    from argentry.out.meter_card import meter_pdf

    return meter_pdf(meter_of_studio(Path(folder), date.fromisoformat(day), meter))


def _materials(folder: str, kind: str, paper: str, base: str, title: str, *names: str) -> bytes:
    from argentry.out.materials.printing import printed

    address = os.environ.get("ARGENTRY_BOOK")
    titles = (title,) if title else ()
    return printed(Path(folder), address, kind, names, paper=paper, base=base, titles=titles)[0]


def _season(folder: str, first: str, last: str, at: str) -> bytes:
    from argentry.desk.numbers.studio_numbers import day_numbers
    from argentry.desk.season import read_place, season_of_studio
    from argentry.out.season.pdf import season_pdf

    numbers, _, _ = day_numbers(Path(folder), os.environ.get("ARGENTRY_BOOK"))
    found = season_of_studio(
        Path(folder),
        date.fromisoformat(first),
        date.fromisoformat(last),
        beside=[read_place(at)] if at else (),
        learned=numbers,
        processes=1,
    )
    return season_pdf(found)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
