"""Makings of the bench follow the log: with its events, in the same transaction, never by hand.

The log stays the truth: a row here is made of the events of its run, again whenever one comes late,
twice or is corrected, and gives the same whatever their order.
"""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING, Any

from sqlalchemy import func, insert, select, update

from argentry.book import tables
from argentry.book.judgements import NOTHING, STATES, Judgement, judge, judgements
from argentry.book.rows import add_rows, those_there
from argentry.book.runs.corrections import effective
from argentry.book.times import to_json, to_us, zone_of_place
from argentry.records.ids import id_time, make_id
from argentry.records.plate import GRADES, STAGES, VERDICTS, WITHDRAWN
from argentry.records.plate_record import FREES

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from sqlalchemy import Connection

    from argentry.records.event import Event
    from argentry.records.run import PlateState, RunState

# After these a making may stand otherwise.
TELLS = (
    "step_begun", "step_ended", "step_skipped", "step_redone", "plate_abandoned", "making_graded",
    "corrected", "run_opened", "run_closed", "run_withdrawn", "plate_withdrawn", "clock_set",
    "plate_added",
)  # fmt: skip
JUDGES = ("making_graded", "plate_abandoned")
LONGEST_WORDS = 2000
FARTHEST_EAST = timedelta(hours=14)  # where a day begins first
BENCH, MADE_AGAIN = "bench", "begun again with a picture on it"


def making_id(run: str, plate: str, at: datetime) -> str:
    """Return the id of the making of a plate in a run that began at a time: always the same."""
    digest = hashlib.sha256(f"making\0{run}\0{plate}".encode()).digest()
    return make_id(max(0, to_us(at) // 1000), int.from_bytes(digest[:10], "big") >> 6)


def follow_run(connection: Connection, state: RunState, events: Sequence[Event]) -> None:
    """Bring the makings of one run in line with its events."""
    if not state.plates:
        return
    begun = _begun(events, state)
    table = tables.making
    query = select(table).where(table.c.run == state.run)
    rows = {row["plate"]: dict(row) for row in connection.execute(query).mappings()}
    known = those_there(connection, tables.plate, [plate.id for plate in state.plates])
    for plate in state.plates:
        row = rows.get(plate.id)
        if row is None and plate.begun and plate.state != "withdrawn" and plate.id in known:
            row = _new_row(connection, state, plate, begun[plate.id])
        if row is not None:
            _bring_up(connection, state, plate, row, begun.get(plate.id))
            _bring_judgement(connection, plate, row, events)


def _begun(events: Sequence[Event], state: RunState) -> dict[str, datetime]:
    """Return by plate when its first step was begun."""
    not_counted = {one.event for one in state.odd if not one.counted}
    found: dict[str, datetime] = {}
    for event in effective(events)[0]:
        if event.kind == "step_begun" and event.id not in not_counted:
            found.setdefault(event.plate or "", event.at)
    return found


def _new_row(
    connection: Connection, state: RunState, plate: PlateState, at: datetime
) -> dict[str, Any]:
    day = at.astimezone(zone_of_place(state.place)).date().isoformat()
    row = {
        "id": making_id(state.run, plate.id, at),
        "plate": plate.id,
        "run": state.run,
        "session": day,
        "place": _next_place(connection, day),
        "day": day,
        "commissioned": 0,
        "conditions": "{}",
        "remark": "",
        "state": "going",
        "given_up": "{}",
    }
    _note_polished_back(connection, row, at)
    connection.execute(insert(tables.making), [row])
    return row


def _note_polished_back(connection: Connection, row: Mapping[str, Any], at: datetime) -> None:
    """Note that a plate begun with a picture on it was polished back, where nobody did."""
    table, work = tables.making, tables.plate_work
    query = select(table.c.day, table.c.id, table.c.run).where(
        table.c.plate == row["plate"], table.c.state == "finished"
    )
    last = max(map(tuple, connection.execute(query)), default=None)
    if last is None:
        return
    free = select(work.c.id).where(
        work.c.plate == row["plate"], work.c.kind.in_(FREES), work.c.at_us > to_us(begun_at(*last))
    )
    if connection.execute(free.limit(1)).first() is None:
        key = making_id("polished back " + row["run"], row["plate"], at)
        stamp = {"at_us": to_us(at), "who": BENCH, "remark": MADE_AGAIN}
        told = {"id": key, "plate": row["plate"], "kind": FREES[0], **stamp}
        add_rows(connection, work, [told])


def begun_at(day: str, key: str, run: str | None) -> datetime:
    """Return when a making was begun: by its id where the bench made it, else as its day began."""
    if run is not None:
        return id_time(key) + timedelta(milliseconds=1)  # whole ones, and this one is not after it
    return datetime.combine(date.fromisoformat(day), time(), UTC) - FARTHEST_EAST


def _next_place(connection: Connection, session: str) -> int:
    table = tables.making
    query = select(func.max(table.c.place)).where(table.c.session == session)
    return int(connection.execute(query).scalar() or 0) + 1


def _bring_up(
    connection: Connection,
    state: RunState,
    plate: PlateState,
    row: dict[str, Any],
    at: datetime | None,
) -> None:
    up = None if plate.given_up is None else vars(plate.given_up)
    now: dict[str, Any] = {"state": _state(state, plate), "given_up": to_json("given up", up or {})}
    if plate.grading is not None:
        now["remark"] = plate.grading.words[:LONGEST_WORDS]
    if at is not None:
        day = at.astimezone(zone_of_place(state.place)).date().isoformat()
        if row["day"] == row["session"] != day:  # its first step was put on another day
            now |= {"day": day, "session": day, "place": _next_place(connection, day)}
    changed = {key: value for key, value in now.items() if row[key] != value}
    if changed:
        table = tables.making
        connection.execute(update(table).where(table.c.id == row["id"]).values(**changed))


def _state(state: RunState, plate: PlateState) -> str:
    if not plate.begun or plate.state == "withdrawn":
        return WITHDRAWN
    if plate.state == "abandoned":
        return "given_up"
    return "finished" if plate.state == "done" or state.closed is not None else "going"


def _bring_judgement(
    connection: Connection, plate: PlateState, row: Mapping[str, Any], events: Sequence[Event]
) -> None:
    if not any(event.plate == plate.id and event.kind in JUDGES for event in events):
        return
    own = [row["id"]]
    was = judgements(connection, own).get(row["id"], NOTHING)
    # rows of these times were made of events; any other was written by hand before there were some
    by_events = {to_us(event.at) for event in events if event.kind in TELLS}
    by_hand = judgements(connection, own, apart=by_events).get(row["id"], NOTHING)
    last = next(event for event in reversed(events) if event.kind in TELLS)
    stamp = {"at_us": to_us(last.at), "who": last.device}
    judge(connection, row["id"], was, _judged(plate, by_hand), stamp)


def _judged(plate: PlateState, by_hand: Judgement) -> Judgement:
    """Return how the events judge a plate; what no reader could use is left out."""
    told, up = plate.grading, plate.given_up
    if told is not None:
        return Judgement(
            grade=told.grade if told.grade in GRADES else None,
            verdict=told.verdict if told.verdict in VERDICTS else None,
            stages={s: v for s, v in told.stages.items() if s in STAGES and v in STATES},
            defects=tuple((defect[:100], of[:100]) for defect, of in told.defects),
        )
    if up is None or up.reason != "fault":
        return by_hand
    stages = {up.stage: "fault"} if up.stage in STAGES else {}
    defects = [(up.defect[:100], up.stage[:100])] if up.defect else []
    return Judgement(
        by_hand.grade,
        by_hand.verdict,
        {**by_hand.stages, **stages},
        tuple(dict.fromkeys([*by_hand.defects, *defects])),
    )
