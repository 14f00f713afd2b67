"""The process that works out advice, plans and numbers for a server: a question a line, JSON."""

from __future__ import annotations

import ctypes
import json
import os
import signal
import sys
from contextlib import suppress
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError, BadInput

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from typing import TextIO

    from argentry.desk.pages.today import Taught

MILDER = 10  # the server that answers presses goes first
# of the processor, for one question; on a busy machine that may be half an hour by the clock
LONGEST_CPU_SECONDS = 120.0
PARENT_DEATH_SIGNAL = 1  # PR_SET_PDEATHSIG of prctl(2), Linux


def main(folder: Path, address: str | None, questions: Iterable[str], answers: TextIO) -> None:
    """Answer until there are no more questions: when the server is gone, its end of the pipe is.

    Parameters
    ----------
    folder : Path
        Studio folder.
    address : str or None
        Of a PostgreSQL book.
    questions : iterable of str
        Each ``{"run": ..., "now": ...}``, ``{"replan": ..., "why": ..., "now": ...}``,
        ``{"numbers": true}``, ``{"day": ..., "plates": ..., "wished": {...}, "by_rule": ...,
        "now": ...}`` for a day's page, ``{"ahead": ..., "now": ...}`` for a day in little,
        ``{"season": [first day, last day, other place]}``, ``{"taught": true}``, or
        ``{"plates": [...], "now": ...}`` with the labels of plates whose pages were opened.
    answers : TextIO
        One line for each: what to say of each plate, by plate; the new plan of a run; the studio's
        own numbers; what the plates teach; a season or a day as `argentry.out.day.page` shows it,
        or why not as ``refused``; or how many plates are ``left`` to be worked out after one more.
    """
    from argentry.desk.bench.advice import advice_bodies
    from argentry.desk.bench.replan import plan_or_nothing
    from argentry.desk.learning.kept_plates import keep_plates
    from argentry.desk.numbers.kept import own_numbers, plain_numbers
    from argentry.desk.numbers.makings import from_book
    from argentry.desk.pages.learning import studio_page
    from argentry.desk.pages.today import taught_by, teaching_mark
    from argentry.keeping.book import studio_book
    from argentry.keeping.studio import load_studio
    from argentry.records.plain import plain

    taught: dict[tuple[int, ...], Any] = {}  # of the newest state of the book
    with studio_book(folder, address, quick=False) as book:
        for line in each_in_time(questions):
            asked = json.loads(line)
            answer: dict[str, Any] = {}
            try:
                studio = load_studio(folder)  # its maker may have changed it
                if "day" in asked or "ahead" in asked:
                    mark = teaching_mark(folder, book)
                    if mark not in taught:
                        taught = {mark: taught_by(folder, address)}
                    answer |= _day(folder, address, asked, taught[mark])
                elif "season" in asked:
                    mark = teaching_mark(folder, book)
                    if mark not in taught:
                        taught = {mark: taught_by(folder, address)}
                    answer |= _season(folder, asked["season"], taught[mark])
                elif "taught" in asked:
                    answer |= plain(studio_page(from_book(book, studio)))
                elif "numbers" in asked:
                    answer |= plain_numbers(own_numbers(from_book(book, studio), book.folder))
                elif "plates" in asked:
                    now = datetime.fromisoformat(asked["now"])
                    answer["left"] = keep_plates(book, studio, folder, now, asked["plates"], 1)
                elif "replan" in asked:
                    now = datetime.fromisoformat(asked["now"])
                    about = (asked["replan"], now, asked.get("why"))
                    answer |= plan_or_nothing(book, studio, folder, *about)
                else:
                    now = datetime.fromisoformat(asked["now"])
                    answer = advice_bodies(book, studio, asked["run"], now)
            except ArgentryError:  # a busy book: the next press asks again
                answer = {}
            answers.write(json.dumps(answer) + "\n")
            answers.flush()


def each_in_time(questions: Iterable[str]) -> Iterator[str]:
    """Hand questions on; one that keeps the processor busy for too long ends this process.

    The server's own limit is the clock's and wide: this process is the last to be given time.
    """
    timer = getattr(signal, "setitimer", None)  # not on Windows
    for line in questions:
        if timer is not None:
            timer(signal.ITIMER_PROF, LONGEST_CPU_SECONDS)
        yield line
        if timer is not None:
            timer(signal.ITIMER_PROF, 0.0)


def _day(
    folder: Path, address: str | None, asked: Mapping[str, Any], taught: Taught
) -> dict[str, Any]:
    """Return a planned day for its page, or the sentence that refuses it."""
    from argentry.desk.pages.today import plan_for_page
    from argentry.out.day.ahead import day_ahead
    from argentry.out.day.page import day_view
    from argentry.records.plain import plain

    day, now = date.fromisoformat(asked.get("day") or asked["ahead"]), asked["now"]
    little = "ahead" in asked
    by_rule = little or bool(asked.get("by_rule"))
    try:
        plan = plan_for_page(
            folder,
            address,
            day,
            asked.get("plates"),
            asked.get("wished") or {},
            datetime.fromisoformat(now),
            by_rule=by_rule,
            taught=taught,
        )
    except BadInput as error:
        return {"refused": str(error)}
    told: dict[str, Any] = plain(day_ahead(plan) if little else day_view(plan, by_rule=by_rule))
    return told


def _season(folder: Path, asked: Sequence[str], taught: Taught) -> dict[str, Any]:
    """Return a season at the studio, and at another place where one is named, or why not."""
    from argentry.desk.season import read_place, season_of_studio
    from argentry.records.plain import plain

    first, last, at = asked
    try:
        found = season_of_studio(
            folder,
            date.fromisoformat(first),
            date.fromisoformat(last),
            beside=[read_place(at)] if at else (),
            learned=taught[0],
            processes=1,
        )
    except BadInput as error:
        return {"refused": str(error)}
    told: dict[str, Any] = plain(found)
    return told


def end_with_server() -> None:
    """Have the system end this process with its server, also while it stands still for a press."""
    with suppress(OSError, AttributeError):  # other systems: it ends when its pipe is closed
        ctypes.CDLL(None).prctl(PARENT_DEATH_SIGNAL, signal.SIGKILL)


if __name__ == "__main__":
    end_with_server()
    if hasattr(os, "nice"):
        os.nice(MILDER)
    try:
        main(Path(sys.argv[1]), os.environ.get("ARGENTRY_BOOK"), sys.stdin, sys.stdout)
    except BrokenPipeError:  # the server was killed meanwhile: nobody reads the answer
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
