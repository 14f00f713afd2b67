"""Servers are killed while devices go on: one on SQLite, three on one PostgreSQL book."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.power.storm import judge, judge_elapsed, storm, told_of

from argentry.book.engine import close_book
from argentry.book.open import open_book
from benchmarks.chaos.ground import database_server, studio_in, workplace

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from benchmarks.chaos.ground import Ask, Figures

SERVERS = 3  # on one PostgreSQL book


def on_sqlite(ask: Ask) -> Figures:
    with workplace() as folder:
        studio = studio_in(folder)
        return _storm([studio], None, ask)


def on_postgresql(ask: Ask) -> Figures:
    with database_server() as server, workplace() as folder:
        studios = [studio_in(folder, f"studio{number}") for number in range(SERVERS)]
        return _storm(studios, server.database(), ask)


def _storm(studios: Sequence[Path], address: str | None, ask: Ask) -> Figures:
    """Return the figures; whatever was lost, doubled or out of order ends the run in an error."""
    devices, kills = storm(studios, address, ask.count, ask.seed, until=ask.until)
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
