"""The log of events: appended, answered after commit, read in order; never changed."""

from __future__ import annotations

import json
from dataclasses import dataclass
from datetime import timedelta
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select

from argentry.book import tables
from argentry.book.care.seal import sealed_event
from argentry.book.engine import reading, writing
from argentry.book.from_runs import TELLS, follow_run
from argentry.book.materials.from_runs import follow_lots
from argentry.book.materials.through_baths import follow_baths, gilded_later
from argentry.book.rows import AT_ONCE
from argentry.book.runs.corrections import effective, timed_by_settings
from argentry.book.runs.fold import fold
from argentry.book.times import clean_text, from_us, to_json, to_us
from argentry.errors import BadInput
from argentry.records.event import HOUSE_RUN, KINDS, VERSION, Event, RunHead
from argentry.records.ids import is_id
from argentry.records.run import RUN_DAYS

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from datetime import datetime

    from sqlalchemy import Connection

    from argentry.book.engine import Book

SAME = ("run", "kind", "plate", "step", "body", "version")  # what a resend must repeat
ENDS = ("run_closed", "run_withdrawn")
OPEN_AMONG = 20  # newest runs, among which those that go on are looked for
RUNS_KEPT = 4  # runs whose events stay in memory, some 100 kB each


@dataclass(frozen=True)
class Stored:
    """One event as it is in the book.

    Attributes
    ----------
    id : str
        Its id.
    seq : int
        Place in the log, from 1, without gaps, in order of commit.
    at : datetime
        Its time, UTC.
    duplicate : bool
        True when it was there already.
    """

    id: str
    seq: int
    at: datetime
    duplicate: bool


def append(book: Book, events: Sequence[Event]) -> list[Stored]:
    """Add events to the log, all or none; answer only when they are safe on the disk.

    The makings they tell of, what opened lots gave for them, and what went through baths are
    brought in line with them in the same transaction.

    Parameters
    ----------
    book : Book
        The book.
    events : sequence of Event
        In the order they shall stand in. `Event.seq` is not looked at.

    Returns
    -------
    list of Stored
        One for each, in the same order. An event that is there already (same id, same content; its
        time and device are those of the first sending) is answered as a duplicate.

    Raises
    ------
    BadInput
        If an event is badly formed, or its id is in the log with another content.
    ArgentryError
        If the store cannot take them; none was stored.
    """
    rows = [_row(item) for item in events]
    if not rows:
        return []
    with writing(book) as connection:
        there = {row["id"]: row for row in _rows(connection, [row["id"] for row in rows])}
        seq, last = _end(connection)
        fresh, stored = [], []
        for row in rows:
            old = there.get(row["id"])
            if old is not None:
                _same(row, old)
                stored.append(Stored(row["id"], old["seq"], from_us(old["at_us"]), duplicate=True))
                continue
            seq += 1
            row.update(sealed_event(last, {**row, "seq": seq}))
            last = row["chain"]
            there[row["id"]] = row
            fresh.append(row)
            stored.append(Stored(row["id"], seq, from_us(row["at_us"]), duplicate=False))
        if fresh:
            connection.execute(insert(tables.event), fresh)
        # a clearing time is told before the step, and tires a bath before the plate goes in
        told = {row["run"] for row in fresh if row["kind"] in (*TELLS, "reading_taken")}
        for run in sorted(told):
            of_run = _with_new(book, connection, run)
            state = fold(of_run)
            follow_run(connection, state, of_run)
            follow_lots(connection, state, of_run)
            follow_baths(connection, state, of_run)
        for run in sorted(gilded_later(connection, fresh)):
            of_run = _after(connection, run, 0)
            if of_run:  # who noted a plate by hand may be called as a run is
                follow_lots(connection, fold(of_run), of_run)
    return stored


def follow_all(connection: Connection) -> None:
    """Bring the makings of every run in line with the log, after an upgrade."""
    table = tables.event
    query = select(table.c.run).where(table.c.kind == "run_opened").order_by(table.c.seq)
    for run in dict.fromkeys(connection.execute(query).scalars()):
        of_run = _after(connection, run, 0)
        follow_run(connection, fold(of_run), of_run)


def run_events(connection: Connection, run: str) -> list[Event]:
    """Return the events of a run as a transaction sees them."""
    return _after(connection, run, 0)


def _with_new(book: Book, connection: Connection, run: str) -> list[Event]:
    """Return the events of a run with those this transaction added; they are not kept yet."""
    have = book.read.get(run, ())
    return [*have, *_after(connection, run, have[-1].seq if have else 0)]


def events(book: Book, run: str, after_seq: int = 0) -> list[Event]:
    """Return the events of one run after a place in the log, in order.

    What was read once is not read again: events never change, and places are given in the order of
    commit, so that all that is new, whoever wrote it, stands after the last that was read.
    """
    if after_seq:
        return _events(book, run, after_seq)
    have = book.read.get(run, ())
    have += tuple(_events(book, run, have[-1].seq if have else 0))
    if have:
        book.read.pop(run, None)  # the run asked for last stands last
        book.read[run] = have
        while len(book.read) > RUNS_KEPT:
            book.read.pop(next(iter(book.read)), None)
    return list(have)


def _events(book: Book, run: str, after_seq: int) -> list[Event]:
    with reading(book) as connection:
        return _after(connection, run, after_seq)


def _after(connection: Connection, run: str, after_seq: int) -> list[Event]:
    table = tables.event
    query = select(table).where(table.c.run == run, table.c.seq > after_seq)
    return [_event(row) for row in connection.execute(query.order_by(table.c.seq)).mappings()]


def events_after(book: Book, seq: int, limit: int = 1000) -> list[Event]:
    """Return up to `limit` events of all runs after a place in the log, in order."""
    table = tables.event
    query = select(table).where(table.c.seq > seq).order_by(table.c.seq).limit(limit)
    with reading(book) as connection:
        return [_event(row) for row in connection.execute(query).mappings()]


def known(book: Book, ids: Sequence[str]) -> dict[str, Event]:
    """Return those of some events that are in the log already, by id."""
    with reading(book) as connection:
        return {row["id"]: _event(row) for row in _rows(connection, ids)}


def last_seq(book: Book) -> int:
    """Return the place of the last event in the log, 0 while it is empty."""
    with reading(book) as connection:
        return _end(connection)[0]


def last_at(book: Book) -> datetime | None:
    """Return the latest time of any event since the house's clock was set, or None.

    What was written by a clock that was wrong does not count from the moment it was set right.
    """
    table = tables.event
    was_set = (
        select(func.max(table.c.seq))
        .where(table.c.run == HOUSE_RUN, table.c.kind == "clock_set")
        .scalar_subquery()
    )
    query = select(func.max(table.c.at_us)).where(table.c.seq >= func.coalesce(was_set, 0))
    with reading(book) as connection:
        found = connection.execute(query).scalar()
    return None if found is None else from_us(found)


def runs_since(book: Book, seq: int, at: datetime) -> dict[str, int]:
    """Return the runs with events after a place in the log, or later than a time, as times now are.

    Returns
    -------
    dict of str to int
        Run to the place of its first such event.
    """
    table = tables.event
    those = (table.c.seq > seq) | (table.c.at_us > to_us(at))
    was_set = select(table.c.run).where(table.c.kind == "clock_set", table.c.run != HOUSE_RUN)
    query = select(table.c.run, func.min(table.c.seq)).where(
        those, table.c.run != HOUSE_RUN, table.c.run.not_in(was_set)
    )
    with reading(book) as connection:
        found = {row[0]: row[1] for row in connection.execute(query.group_by(table.c.run))}
        for run in connection.execute(was_set.distinct()).scalars().all():
            # what counts is when its events were by the clock as it was set since
            events = timed_by_settings(run_events(connection, run))
            later = [one.seq for one in events if one.seq > seq or one.at > at]
            if later:
                found[run] = min(later)
    return found


def run_exists(book: Book, run: str) -> bool:
    """Return True when the log holds an event of this run."""
    query = select(tables.event.c.seq).where(tables.event.c.run == run).limit(1)
    with reading(book) as connection:
        return connection.execute(query).first() is not None


def runs(book: Book, limit: int | None = None) -> list[RunHead]:
    """Return the runs, the one opened last first.

    Returns
    -------
    list of RunHead
        A withdrawn closing does not count; a withdrawn run is closed.
    """
    table = tables.event
    opened = select(table).where(table.c.kind == "run_opened").order_by(table.c.seq.desc())
    with reading(book) as connection:
        heads = connection.execute(opened.limit(limit)).mappings().all()
        edges = _edges(connection, [row["run"] for row in heads])
        added = events_of_kinds(connection, [row["run"] for row in heads], ("plate_added",))
        last = _last_of(connection, [row["run"] for row in heads])
    told = [[*edges.get(row["run"], []), *added.get(row["run"], [])] for row in heads]
    return [_head(_event(row), own, last[row["run"]]) for row, own in zip(heads, told, strict=True)]


def open_runs(book: Book, now: datetime) -> list[RunHead]:
    """Return the runs that go on: opened in the last days and not closed."""
    since = now - timedelta(days=RUN_DAYS)
    return [one for one in runs(book, OPEN_AMONG) if one.closed is None and one.opened > since]


def _head(opening: Event, edges: Sequence[Event], last: int) -> RunHead:
    counted, _ = effective([opening, *edges])
    opening = next((one for one in counted if one.kind == "run_opened"), opening)
    body = opening.body
    ends = [one for one in counted if one.kind in ENDS]
    return RunHead(
        run=opening.run,
        title=str(body.get("title", "")),
        opened=opening.at,
        closed=max((one.at for one in ends), default=None),
        plates=(
            *(str(plate.get("label", "")) for plate in body.get("plates", [])),
            *(str(one.body.get("label", "")) for one in counted if one.kind == "plate_added"),
        ),
        last_seq=last,
        withdrawn=any(one.kind == "run_withdrawn" for one in ends),
    )


def _row(item: Event) -> dict[str, Any]:
    where = f"event {str(item.id)[:40]}"
    if not is_id(item.id):
        raise BadInput(where, "its id is not a UUID version 7", "make it where the event happens")
    if item.kind not in KINDS:
        raise BadInput(
            where, "{kind!r} is not a kind of event", "use one of docs/events.md", kind=item.kind
        )
    if not item.run:
        raise BadInput(where, "it names no run", "give the id of a run")
    if item.version != VERSION:
        raise BadInput(
            where,
            "its form {version} is not known",
            "send form {known}",
            version=item.version,
            known=VERSION,
        )
    return {
        "id": item.id,
        "run": clean_text(f"{where} run", item.run, 100),
        "kind": item.kind,
        "at_us": to_us(item.at, f"{where} at"),
        "plate": clean_text(f"{where} plate", item.plate, 100),
        "step": clean_text(f"{where} step", item.step, 100),
        "body": to_json(f"{where} body", item.body),
        "device": clean_text(f"{where} device", item.device, 200),
        "version": item.version,
    }


@lru_cache(maxsize=16)  # a run is read again at each press, and its opening is most of it
def _opening(text: str) -> dict[str, Any]:
    return dict(json.loads(text))


def _event(has: Mapping[Any, Any]) -> Event:
    return Event(
        id=has["id"],
        run=has["run"],
        kind=has["kind"],
        at=from_us(has["at_us"]),
        plate=has["plate"],
        step=has["step"],
        body=(_opening if has["kind"] == "run_opened" else json.loads)(has["body"]),
        device=has["device"],
        version=has["version"],
        seq=has["seq"],
    )


def _rows(connection: Connection, ids: Sequence[str]) -> Iterator[dict[str, Any]]:
    for start in range(0, len(ids), AT_ONCE):
        part = ids[start : start + AT_ONCE]
        query = select(tables.event).where(tables.event.c.id.in_(part))
        yield from (dict(row) for row in connection.execute(query).mappings())


def _end(connection: Connection) -> tuple[int, str]:
    table = tables.event
    row = connection.execute(
        select(table.c.seq, table.c.chain).order_by(table.c.seq.desc()).limit(1)
    ).first()
    return (0, "") if row is None else (row.seq, row.chain)


def _same(row: Mapping[str, Any], old: Mapping[str, Any]) -> None:
    for name in SAME:
        new_value, old_value = row[name], old[name]
        if name == "body":  # 50 and 50.0 are the same number
            new_value, old_value = json.loads(new_value), json.loads(old_value)
        if new_value != old_value:
            raise BadInput(
                "event {id}".format(id=row["id"]),
                "this id is in the log already with another {name}",
                "make a new id for a new event",
                name=name,
            )


def _edges(connection: Connection, wanted: Sequence[str]) -> dict[str, list[Event]]:
    return events_of_kinds(connection, wanted, (*ENDS, "corrected", "clock_set"))


def events_of_kinds(
    connection: Connection, wanted: Sequence[str], kinds: Sequence[str]
) -> dict[str, list[Event]]:
    """Return the events of some kinds, by run, in order."""
    table = tables.event
    found: dict[str, list[Event]] = {}
    for start in range(0, len(wanted), AT_ONCE):
        part = wanted[start : start + AT_ONCE]
        query = select(table).where(table.c.kind.in_(kinds), table.c.run.in_(part))
        for row in connection.execute(query.order_by(table.c.seq)).mappings():
            found.setdefault(row["run"], []).append(_event(row))
    return found


def _last_of(connection: Connection, wanted: Sequence[str]) -> dict[str, int]:
    table = tables.event
    found: dict[str, int] = {}
    for start in range(0, len(wanted), AT_ONCE):
        part = wanted[start : start + AT_ONCE]
        query = select(table.c.run, func.max(table.c.seq)).where(table.c.run.in_(part))
        found.update((run, seq) for run, seq in connection.execute(query.group_by(table.c.run)))
    return found
