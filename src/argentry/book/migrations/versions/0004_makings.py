"""The making in place of the outcome: one for each passage of a plate through a run.

An outcome was tied to one run, however often its plate was made again, and was written only when
somebody said how it came out. What the log still proves is restored: every plate whose steps were
begun in a run gets a making of that run, and what was said of a plate goes to the run that had last
begun before it was said. No row of the log is touched.
"""

from __future__ import annotations

import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import WHOLE, refuse_changes
from argentry.records.ids import make_id

revision = "0004"
down_revision = "0003"

TEXT = sa.Text
JUDGED = ("grade", "verdict", "stage", "defect")
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
NAMED = 20  # plates named in one sentence; the rest are counted

RESTORED = (
    "{count} makings were restored from the runs of the bench, because the older book kept only "
    "one for a plate that was made again, or none for a plate that nobody graded."
)
NOT_GRADED = (
    "How {count} of them came out was never written, and could not be restored: {plates}. "
    "Grade them with: argentry plate grade PLATE GRADE --day DAY."
)
MOVED = (
    "{count} plates were judged again after a later run of them had begun: what was said then "
    "stands now with that later run. See whether it is right: {plates}."
)
SET_APART = (
    "{count} makings named a run in which their plate was never begun, or has another making; they "
    "are kept with all that was said of them, without a run: {plates}."
)


def upgrade() -> None:
    """Make the tables again under their new names and bring every row over."""
    bind = op.get_bind()
    for name in ("outcome", *JUDGED):
        op.execute(f"CREATE TEMPORARY TABLE old_{name} AS SELECT * FROM {name}")  # noqa: S608
    for name in (*JUDGED, "outcome"):
        op.drop_table(name)
    _make_tables()
    old = [dict(row) for row in bind.execute(sa.text(OLD)).mappings()]
    begun = dict(_begun(bind))
    apart = _set_apart(old, begun)
    rows = {row["id"]: row for row in old}
    fresh = _missing(old, begun)
    _insert(bind, "making", [*old, *fresh])
    moved, graded = _bring_judgements(bind, rows, fresh, begun)
    apart = [row for row in apart if row["run"] is None]  # the others found their run by the day
    _note(bind, _notes(bind, apart, fresh, moved, graded))
    for name in JUDGED:
        says = f"{name}s are never changed; add another, the last counts"
        if name == "defect":
            says = "defects are never changed; withdraw one by another row"
        refuse_changes(name, says)
    op.drop_index("event_edges_index", "event")
    edges = sa.text("kind IN ('run_opened', 'run_closed', 'run_withdrawn', 'corrected')")
    op.create_index(
        "event_edges_index",
        "event",
        ["kind", "run"],
        sqlite_where=edges,
        postgresql_where=edges,
    )
    refuse_changes("upgrade_note", "what an upgrade said is never changed")
    for name in ("outcome", *JUDGED):
        op.execute(f"DROP TABLE old_{name}")


OLD = """
SELECT id, plate, run, session, place, day, commissioned, conditions, remark,
       'finished' AS state, '{}' AS given_up
FROM old_outcome ORDER BY day, session, place, id
"""
TOLD = """
SELECT seq, run, id, kind, at_us, plate, body FROM event
WHERE kind IN ('run_opened', 'step_begun', 'corrected') ORDER BY run, seq
"""


def _text(name: str, **more: bool) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=more.pop("nullable", False), **more)  # type: ignore[arg-type]


def _make(name: str, key: str, *parts: sa.schema.SchemaItem) -> None:
    op.create_table(
        name, *parts, sa.PrimaryKeyConstraint(key, name=f"{name}_key"), sqlite_strict=True
    )


def _make_tables() -> None:
    _make(
        "making",
        "id",
        _text("id"),
        _text("plate"),
        _text("run", nullable=True),
        _text("session"),
        sa.Column("place", WHOLE, nullable=False),
        _text("day"),
        sa.Column("commissioned", WHOLE, nullable=False),
        _text("conditions"),
        _text("remark"),
        _text("state"),
        _text("given_up"),
        sa.ForeignKeyConstraint(["plate"], ["plate.id"], name="making_plate_of"),
        sa.CheckConstraint("commissioned in (0, 1)", name="making_commissioned_check"),
    )
    op.create_index("making_day_index", "making", ["day", "session", "place"])
    op.create_index("making_plate_index", "making", ["plate"])
    op.create_index("making_run_plate_index", "making", ["run", "plate"], unique=True)
    own: dict[str, list[sa.schema.SchemaItem]] = {
        "grade": [_text("grade", nullable=True)],
        "verdict": [_text("verdict", nullable=True)],
        "stage": [_text("stage"), _text("state", nullable=True)],
        "defect": [
            _text("defect"),
            _text("step"),
            sa.Column("withdrawn", WHOLE, nullable=False),
            sa.CheckConstraint("withdrawn in (0, 1)", name="defect_withdrawn_check"),
        ],
    }
    for name, columns in own.items():
        _make(
            name,
            "seq",
            sa.Column("seq", WHOLE, autoincrement=False),
            _text("making"),
            *columns,
            sa.Column("at_us", WHOLE, nullable=False),
            _text("who"),
            sa.ForeignKeyConstraint(["making"], ["making.id"], name=f"{name}_making_of"),
        )
        op.create_index(f"{name}_making_index", name, ["making"])
    seq = sa.Column("seq", WHOLE, autoincrement=False)
    _make("upgrade_note", "seq", seq, _text("form"), _text("words"))


def _set_apart(
    old: Sequence[dict[str, Any]], begun: Mapping[tuple[str, str], tuple[int, str]]
) -> list[dict[str, Any]]:
    """Take the run from every row that is not the first of its run and plate, and return those.

    So it is with a plate of which no step was begun in that run.
    """
    seen: set[tuple[str, str]] = set()
    apart = []
    for row in old:
        key = (row["run"], row["plate"])
        if row["run"] is not None and (key in seen or key not in begun):
            row["run"] = None
            apart.append(row)
        seen.add(key)
    return apart


def _begun(bind: sa.Connection) -> Iterator[tuple[tuple[str, str], tuple[int, str]]]:
    """Give (run, plate) with the time and the day its first step was begun."""
    plates = set(bind.execute(sa.text("SELECT id FROM plate")).scalars())
    for rows in _by_run(bind.execute(sa.text(TOLD)).mappings()):
        taken_back, zone = _corrections(rows), "UTC"
        at: dict[str, int] = {}
        listed: set[Any] = set()
        for row in rows:
            if row["id"] in taken_back and taken_back[row["id"]] is None:
                continue
            if row["kind"] == "run_opened":
                body = _object(row["body"])
                zone = str(_dict(body.get("place")).get("time_zone") or "UTC")
                named = body.get("plates")
                if isinstance(named, list):
                    listed |= {_dict(one).get("id") for one in named}
            elif row["kind"] == "step_begun":
                when = taken_back.get(row["id"]) or row["at_us"]
                at[row["plate"]] = min(when, at.get(row["plate"], when))
        for plate in sorted(at.keys() & plates & listed):
            yield (rows[0]["run"], plate), (at[plate], _day(at[plate], zone))


def _by_run(rows: Iterable[Any]) -> Iterator[list[dict[str, Any]]]:
    part: list[dict[str, Any]] = []
    for row in rows:
        if part and part[0]["run"] != row["run"]:
            yield part
            part = []
        part.append(dict(row))
    if part:
        yield part


def _corrections(rows: Sequence[Mapping[str, Any]]) -> dict[str, int | None]:
    """Return by event its right time, or None when it was taken back; the last correction counts.

    A correction that a later one took back does not count.
    """
    found: dict[str, int | None] = {}
    asked = [row for row in rows if row["kind"] == "corrected"]
    for row in sorted(asked, key=lambda one: (one["at_us"], one["id"]), reverse=True):
        if row["id"] in found and found[row["id"]] is None:
            continue
        body = _object(row["body"])
        target = body.get("event")
        if not isinstance(target, str) or target in found:
            continue
        if body.get("withdrawn") is True:
            found[target] = None
        elif (moment := _moment(body.get("at"))) is not None:
            found[target] = moment
    return found


def _moment(text: Any) -> int | None:
    try:
        moment = datetime.fromisoformat(text)
    except (TypeError, ValueError):
        return None
    if moment.tzinfo is None:
        return None
    return (moment - EPOCH) // timedelta(microseconds=1)


def _object(text: str) -> dict[str, Any]:
    return _dict(json.loads(text))


def _dict(value: Any) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _day(at_us: int, zone: str) -> str:
    try:
        where: Any = ZoneInfo(zone)
    except (KeyError, ValueError, OSError):
        where = UTC
    moment = EPOCH + timedelta(microseconds=at_us)
    return moment.astimezone(where).date().isoformat()


def _missing(
    old: Sequence[dict[str, Any]],
    begun: Mapping[tuple[str, str], tuple[int, str]],
) -> list[dict[str, Any]]:
    """Return a making for every run and plate that has none; `old` may be tied to one instead.

    A making of the same day that was written by hand, with no conditions and no run, is that one.
    """
    have = {(row["run"], row["plate"]) for row in old if row["run"] is not None}
    by_hand: dict[tuple[str, str], dict[str, Any]] = {
        (row["plate"], row["day"]): row
        for row in reversed(old)
        if row["run"] is None and row["conditions"] == "{}"
    }
    places: dict[str, int] = defaultdict(int)
    for row in old:
        places[row["session"]] = max(places[row["session"]], row["place"])
    fresh = []
    for (run, plate), (at, day) in sorted(begun.items(), key=lambda one: (one[1], one[0])):
        if (run, plate) in have:
            continue
        mine = by_hand.pop((plate, day), None)
        if mine is not None:
            mine["run"] = run
            continue
        digest = hashlib.sha256(f"making\0{run}\0{plate}".encode()).digest()
        places[day] += 1
        fresh.append(
            {
                "id": make_id(max(0, at // 1000), int.from_bytes(digest[:10], "big") >> 6),
                "plate": plate,
                "run": run,
                "session": day,
                "place": places[day],
                "day": day,
                "commissioned": 0,
                "conditions": "{}",
                "remark": "",
                "state": "finished",
                "given_up": "{}",
            }
        )
    return fresh


def _bring_judgements(
    bind: sa.Connection,
    old: Mapping[str, dict[str, Any]],
    fresh: Sequence[dict[str, Any]],
    begun: Mapping[tuple[str, str], tuple[int, str]],
) -> tuple[set[str], set[str]]:
    """Copy what was said; return the makings it was moved to, and those that are graded."""
    later: dict[str, list[tuple[int, str, str]]] = defaultdict(list)
    for row in fresh:
        later[row["plate"]].append((begun[row["run"], row["plate"]][0], row["id"], row["run"]))
    moved: set[str] = set()
    graded: set[str] = set()
    for name in JUDGED:
        rows = []
        found = bind.execute(sa.text(f"SELECT * FROM old_{name} ORDER BY seq")).mappings()  # noqa: S608
        for said in found:
            row = dict(said)
            own = old[row.pop("outcome")]
            row["making"] = _of_time(own, later[own["plate"]], begun, row["at_us"])
            if row["making"] != own["id"]:
                moved.add(row["making"])
            if name == "grade":
                graded.add(row["making"])
            rows.append(row)
        _insert(bind, name, rows)
    return moved, graded


def _of_time(
    own: Mapping[str, Any],
    later: Sequence[tuple[int, str, str]],
    begun: Mapping[tuple[str, str], tuple[int, str]],
    at_us: int,
) -> str:
    """Return the making that had last begun when something was said at a time."""
    if own["run"] is None:
        return str(own["id"])
    first = begun.get((own["run"], own["plate"]), (-1, ""))[0]
    before = [(at, key) for at, key, _ in later if at <= at_us]
    if first <= at_us:
        before.append((first, str(own["id"])))
    return max(before)[1] if before else str(own["id"])


def _insert(bind: sa.Connection, name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    if rows:
        table = sa.table(name, *(sa.column(column) for column in rows[0]))
        bind.execute(sa.insert(table), [dict(row) for row in rows])


def _notes(
    bind: sa.Connection,
    apart: Sequence[Mapping[str, Any]],
    fresh: Sequence[Mapping[str, Any]],
    moved: set[str],
    graded: set[str],
) -> list[str]:
    labels: dict[str, str] = dict(bind.execute(sa.text("SELECT id, label FROM plate")).all())
    up = sa.text("SELECT run, plate FROM event WHERE kind = 'plate_abandoned'")
    given_up = {(row[0], row[1]) for row in bind.execute(up)}
    silent = [
        row
        for row in fresh
        if row["id"] not in graded and (row["run"], row["plate"]) not in given_up
    ]
    told = (
        (RESTORED, fresh),
        (NOT_GRADED, silent),
        (MOVED, [row for row in fresh if row["id"] in moved]),
        (SET_APART, apart),
    )
    return [
        words.format(count=len(rows), plates=_named(labels, rows)) for words, rows in told if rows
    ]


def _named(labels: Mapping[str, str], rows: Sequence[Mapping[str, Any]]) -> str:
    named = [
        f"{labels[row['plate']]} of {date.fromisoformat(row['day']):%d %B %Y}".replace(" 0", " ")
        for row in rows
    ]
    more = len(named) - NAMED
    return ", ".join(named[:NAMED]) + (f" and {more} more" if more > 0 else "")


def _note(bind: sa.Connection, notes: Sequence[str]) -> None:
    _insert(
        bind,
        "upgrade_note",
        [{"seq": i, "form": revision, "words": words} for i, words in enumerate(notes, 1)],
    )
