"""Processes are killed while devices go on: one server on SQLite, three on one PostgreSQL book.

One kill is SIGKILL, at a moment left to chance, to `argentry serve` and to the processes that it
began; on PostgreSQL every tenth goes to one of the database server's own processes instead, so
that all its connections end and it recovers from its log. What a process had written stays with
the system whatever becomes of the process, so the files lie in memory: what a disk keeps is
another part's question (`benchmarks.chaos.cuts`).
"""

from __future__ import annotations

import contextlib
import os
import signal
import time
from pathlib import Path
from typing import TYPE_CHECKING

import psycopg
from tests.power.storm import judge, judge_elapsed, storm, told_of

from argentry.book.engine import close_book
from argentry.book.open import open_book
from benchmarks.chaos.ground import database_server, studio_in, workplace
from benchmarks.chaos.trace import with_children

if TYPE_CHECKING:
    import random
    from collections.abc import Callable, Sequence

    from tests import stores

    from benchmarks.chaos.ground import Ask, Figures

SERVERS = 3  # on one PostgreSQL book
BACK_S = 120.0  # a database server recovers within this


def on_sqlite(ask: Ask) -> Figures:
    with workplace(quick=True) as folder:
        return _storm([studio_in(folder)], None, ask)


def on_postgresql(ask: Ask) -> Figures:
    with database_server(quick=True) as server, workplace(quick=True) as folder:
        studios = [studio_in(folder, f"studio{number}") for number in range(SERVERS)]
        struck: list[int] = []

        def strike(chance: random.Random) -> None:
            struck.append(_strike(server, chance))

        found = _storm(studios, server.database(), ask, strike)
        return {**found, "of them in the database server": len(struck)}


def _strike(server: stores.Server, chance: random.Random) -> int:
    """Kill one process of the database server and wait until it answers again."""
    first = (Path(server.data) / "postmaster.pid").read_text(encoding="ascii").split()[0]
    struck = 0
    while not struck:
        _, *others = with_children(int(first))
        with contextlib.suppress(ProcessLookupError):  # it ended by itself just now
            os.kill(one := chance.choice(others), signal.SIGKILL)
            struck = one
    end = time.monotonic() + BACK_S
    while True:
        time.sleep(0.01)
        try:
            server.sql("SELECT 1")
        except psycopg.OperationalError:
            if time.monotonic() > end:
                raise
        else:
            return struck


def _storm(
    studios: Sequence[Path],
    address: str | None,
    ask: Ask,
    strike: Callable[[random.Random], None] | None = None,
) -> Figures:
    """Return the figures; whatever was lost, doubled or out of order ends the run in an error."""
    devices, kills = storm(studios, address, ask.count, ask.seed, until=ask.until, strike=strike)
    book = open_book(address or studios[0], folder=studios[0])
    everything, sent = judge(book, devices)
    steps = judge_elapsed(book, devices)
    close_book(book)
    lost = {one.id for one in sent if one.answered} - {event.id for event in everything}
    return {
        "servers": len(studios),
        "kills": kills,
        **told_of(everything, devices),
        "steps timed": steps,
        "lost": len(lost),
    }
