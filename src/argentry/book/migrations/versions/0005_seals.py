"""A sum over every row, a salted hash of every body, and the chain laid over the sums.

Until now only events were tied together, and with their whole bodies: a changed byte in a grade
passed, and a person's words could never be erased. The chain of the older form is walked here for
the last time; what it does not bear out is noted.
"""

from __future__ import annotations

import hashlib
import json

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import allow_changes

revision = "0005"
down_revision = "0004"

KEPT = {
    "event": "events are never changed; add a correction",
    "reading": "readings are never changed; add another",
    "grade": "grades are never changed; add another, the last counts",
    "verdict": "verdicts are never changed; add another, the last counts",
    "stage": "stages are never changed; add another, the last counts",
    "defect": "defects are never changed; withdraw one by another row",
    "plate_work": "work on a plate is never changed; add another row",
    "bath_use": "uses of a bath are never changed; add another",
    "lot_use": "uses of a lot are never changed; add another",
    "upgrade_note": "what an upgrade said is never changed",
}
CHANGED = ("plate", "making", "bath", "lot", "photograph", "device")
UNIQUE_ID = ("event", "reading", "plate_work")
SEALS = ("sum", "chain", "salt", "body_sha256")
BROKEN = (
    "The log did not bear out {count} of its events when the book was brought to form 0005: "
    "{places}. They are kept as they were found."
)
EDGES = "kind IN ('run_opened', 'run_closed', 'run_withdrawn', 'corrected', 'clock_set')"
UNSEAL = """
CREATE OR REPLACE FUNCTION argentry_unseal() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN IF NEW.sum = OLD.sum THEN NEW.sum := ''; END IF; RETURN NEW; END $$
"""


def upgrade() -> None:
    """Add the columns and lay the triggers again; the rows are sealed by whoever called."""
    bind = op.get_bind()
    postgresql = bind.dialect.name == "postgresql"
    for name in (*KEPT, *CHANGED):
        op.add_column(name, _text("sum"))
    op.add_column("event", _text("salt"))
    op.add_column("event", _text("body_sha256"))
    broken = _broken(bind)
    for name in KEPT:
        allow_changes(name)
    op.execute("UPDATE event SET chain = ''")
    if broken:
        _note(bind, broken)
    if postgresql:
        op.execute(UNSEAL)
    for name, says in KEPT.items():
        _refuse(bind, name, says, postgresql=postgresql)
    for name in CHANGED:
        _unseal(name, postgresql=postgresql)
    for name in (*KEPT, *CHANGED):
        where = sa.text("sum = ''")
        op.create_index(
            f"{name}_unsealed_index", name, ["sum"], sqlite_where=where, postgresql_where=where
        )
    op.drop_index("event_edges_index", "event")
    edges = sa.text(EDGES)
    op.create_index(
        "event_edges_index",
        "event",
        ["kind", "run"],
        sqlite_where=edges,
        postgresql_where=edges,
    )


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False, server_default="")


def _broken(bind: sa.Connection) -> list[int]:
    """Return the places of events that the chain of the older form does not bear out."""
    names = "chain, id, run, kind, at_us, plate, step, body, device, version"
    last, found = "", []
    for seq, chain, *content in bind.exec_driver_sql(
        f"SELECT seq, {names} FROM event ORDER BY seq"  # noqa: S608 - names of our own
    ):
        text = json.dumps([last, *content], ensure_ascii=False, separators=(",", ":"))
        if chain != hashlib.sha256(text.encode()).hexdigest():
            found.append(seq)
        last = chain
    return found


def _note(bind: sa.Connection, broken: list[int]) -> None:
    places = ", ".join(str(seq) for seq in broken[:20]) + (" ..." if len(broken) > 20 else "")
    words = BROKEN.format(count=len(broken), places=places)
    last = bind.exec_driver_sql("SELECT max(seq) FROM upgrade_note").scalar() or 0
    bind.execute(
        sa.text("INSERT INTO upgrade_note (seq, form, words) VALUES (:seq, :form, :words)"),
        {"seq": last + 1, "form": revision, "words": words},
    )


def _refuse(bind: sa.Connection, name: str, says: str, *, postgresql: bool) -> None:
    """Refuse every change but sealing a fresh row, and erasing the words of an event."""
    columns = [column["name"] for column in sa.inspect(bind).get_columns(name)]
    same = "IS NOT DISTINCT FROM" if postgresql else "IS"

    def stays(*but: str) -> str:
        return " AND ".join(f"NEW.{c} {same} OLD.{c}" for c in columns if c not in but)

    allowed = f"(OLD.sum = '' AND {stays(*SEALS)})"
    if name == "event":
        erases = f"OLD.salt <> '' AND NEW.salt = '' AND {stays('body', 'salt')}"
        allowed = f"({allowed} OR ({erases}))"
    if postgresql:
        refuse = f"EXECUTE FUNCTION argentry_refuse('{says}')"
        op.execute(f"CREATE TRIGGER {name}_kept BEFORE DELETE ON {name} FOR EACH ROW {refuse}")
        op.execute(
            f"CREATE TRIGGER {name}_kept_update BEFORE UPDATE ON {name} FOR EACH ROW "
            f"WHEN (NOT {allowed}) {refuse}"
        )
        op.execute(
            f"CREATE TRIGGER {name}_kept_whole BEFORE TRUNCATE ON {name} "
            f"FOR EACH STATEMENT {refuse}"
        )
        return
    unique = ("seq", "id") if name in UNIQUE_ID else ("seq",)
    there = " OR ".join(f"{column} = NEW.{column}" for column in unique)
    for when, only in (
        ("update", f"WHEN NOT {allowed} "),
        ("delete", ""),
        ("insert", f"WHEN EXISTS (SELECT 1 FROM {name} WHERE {there}) "),  # noqa: S608 - our own
    ):
        op.execute(
            f"CREATE TRIGGER {name}_kept_{when} BEFORE {when.upper()} ON {name} {only}"
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
        )


def _unseal(name: str, *, postgresql: bool) -> None:
    """Let a change take the sum of its row away, whoever made it."""
    if postgresql:
        op.execute(
            f"CREATE TRIGGER {name}_unseal BEFORE UPDATE ON {name} "
            "FOR EACH ROW EXECUTE FUNCTION argentry_unseal()"
        )
        return
    op.execute(
        f"CREATE TRIGGER {name}_unseal AFTER UPDATE ON {name} "  # noqa: S608 - names of our own
        "WHEN NEW.sum = OLD.sum AND OLD.sum <> '' "
        f"BEGIN UPDATE {name} SET sum = '' WHERE rowid = NEW.rowid; END"
    )
