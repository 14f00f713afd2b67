"""Which events of a run count, and with what time and body, once corrections are applied."""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from argentry.records.event import Event


def effective(events: Iterable[Event]) -> tuple[list[Event], list[tuple[str, str]]]:
    """Return the events that count, corrected and in order, and the corrections that do not fit.

    The order of `events` does not matter, nor does an event that comes twice.

    Returns
    -------
    events : list of Event
        Without corrections and withdrawn events, ordered by (at, id).
    odd : list of (str, str)
        Id of a correction that could not be applied, and why.
    """
    unique = {event.id: event for event in timed_by_settings(_unique(events).values())}
    corrections = sorted(
        (e for e in unique.values() if e.kind == "corrected"),
        key=lambda e: (e.at, e.id),
        reverse=True,
    )
    # From the last to the first: a correction counts unless a later one that counts withdrew it,
    # so every chain, and every loop, has one answer.
    last: dict[str, Event] = {}
    odd: list[tuple[str, str]] = []
    seen: set[str] = set()
    for correction in corrections:
        seen.add(correction.id)
        verdict = last.get(correction.id)
        if verdict is not None and _withdrawn(verdict):
            continue
        target = correction.body.get("event")
        if not isinstance(target, str) or target not in unique:
            odd.append((correction.id, "it corrects an event that is not in this run"))
        elif target in seen:
            odd.append((correction.id, "it corrects a correction made after it"))
        else:
            last.setdefault(target, correction)
    counted = []
    for event in unique.values():
        if event.kind in ("corrected", "clock_set"):
            continue
        put_right = last.get(event.id)
        if put_right is None:
            counted.append(event)
        elif not _withdrawn(put_right):
            fixed, why = _put_right(event, put_right.body)
            if why:
                odd.append((put_right.id, why))
            counted.append(fixed)
    return sorted(counted, key=lambda e: (e.at, e.id)), sorted(odd)


def _unique(events: Iterable[Event]) -> dict[str, Event]:
    """Return one copy of each event; of unequal copies the stored one, else a fixed choice."""
    unique: dict[str, Event] = {}
    for event in events:
        known = unique.get(event.id)
        if known is None or _rank(event) < _rank(known):
            unique[event.id] = event
    return unique


def timed_by_settings(events: Collection[Event]) -> Collection[Event]:
    """Return a run's events with their times as the house's clock should have given them."""
    settings = [
        (after, event.seq, timedelta(microseconds=by))
        for event in events
        if event.kind == "clock_set"
        and isinstance(after := event.body.get("after"), int)
        and isinstance(by := event.body.get("by_us"), int)
    ]
    return [_moved(event, settings) for event in events] if settings else events


def _moved(event: Event, settings: list[tuple[int, int, timedelta]]) -> Event:
    by = sum((by for after, seq, by in settings if after < event.seq < seq), timedelta())
    moved = replace(event, at=event.at + by)
    told = read_moment(event.body.get("at")) if event.kind == "corrected" else None
    if told is None:
        return moved
    return replace(moved, body={**event.body, "at": (told + by).isoformat()})


def _rank(event: Event) -> tuple[Any, ...]:
    body = json.dumps(dict(event.body), sort_keys=True, default=str)
    place = (event.plate or "", event.step or "", event.device)
    return event.seq == 0, event.at, event.kind, *place, body, event.seq


def _withdrawn(correction: Event) -> bool:
    return correction.body.get("withdrawn") is True


def _put_right(event: Event, body: Any) -> tuple[Event, str]:
    fixed, why = event, ""
    keys = body.get("body")
    if isinstance(keys, dict):
        fixed = replace(fixed, body={**fixed.body, **keys})
    at = body.get("at")
    if at is not None:
        moment = read_moment(at)
        if moment is None:
            why = "the corrected time cannot be read"
        else:
            fixed = replace(fixed, at=moment)
    return fixed, why


def read_moment(text: Any) -> datetime | None:
    """Return an ISO 8601 time with an offset as UTC; None when it is none."""
    if not isinstance(text, str):
        return None
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        return None
    return None if moment.tzinfo is None else moment.astimezone(UTC)
