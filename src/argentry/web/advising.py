"""The process that works out advice, plans and numbers for a server: a question a line, JSON."""

from __future__ import annotations

import json
import os
import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from argentry.errors import ArgentryError

if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import TextIO

MILDER = 10  # the server that answers presses goes first


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
        ``{"numbers": true}``, or ``{"plates": [...], "now": ...}`` with the labels of plates whose
        pages were opened.
    answers : TextIO
        One line for each: what to say of each plate, by plate; the new plan of a run; the studio's
        own numbers; or how many plates are ``left`` to be worked out after one more.
    """
    from argentry.desk.bench.advice import advice_bodies
    from argentry.desk.bench.replan import plan_or_nothing
    from argentry.desk.book import studio_book
    from argentry.desk.learning.kept_plates import keep_plates
    from argentry.desk.numbers.kept import own_numbers, plain_numbers
    from argentry.desk.numbers.makings import from_book
    from argentry.desk.studio import load_studio

    studio = load_studio(folder)
    with studio_book(folder, address, quick=False) as book:
        for line in questions:
            asked = json.loads(line)
            answer: dict[str, Any] = {}
            try:
                if "numbers" in asked:
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


if __name__ == "__main__":
    if hasattr(os, "nice"):
        os.nice(MILDER)
    try:
        main(Path(sys.argv[1]), os.environ.get("ARGENTRY_BOOK"), sys.stdin, sys.stdout)
    except BrokenPipeError:  # the server was killed meanwhile: nobody reads the answer
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
