"""The log of events, readings, plates and what came of them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import NUMBER, WHOLE, refuse_changes

revision = "0001"
down_revision = None

TEXT = sa.Text
APPLICATION_ID = 0x41676F6B


def _text(name: str, **more: bool) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=more.pop("nullable", False), **more)  # type: ignore[arg-type]


def _seq() -> sa.Column[int]:
    return sa.Column("seq", WHOLE, primary_key=True, autoincrement=False)


def _of(table: str, owner: str) -> tuple[sa.Column[str], sa.ForeignKeyConstraint]:
    key = sa.ForeignKeyConstraint([owner], [f"{owner}.id"], name=f"{table}_{owner}_of")
    return _text(owner), key


def _make(name: str, *parts: sa.schema.SchemaItem, key: str = "seq") -> None:
    op.create_table(
        name,
        *parts,
        sa.PrimaryKeyConstraint(key, name=f"{name}_key"),
        sqlite_strict=True,
    )


def upgrade() -> None:
    """Make the first tables."""
    if op.get_bind().dialect.name == "sqlite":
        op.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    _make(
        "event",
        _seq(),
        _text("id"),
        _text("run"),
        _text("kind"),
        sa.Column("at_us", WHOLE, nullable=False),
        _text("plate", nullable=True),
        _text("step", nullable=True),
        _text("body"),
        _text("device"),
        sa.Column("version", WHOLE, nullable=False),
        sa.UniqueConstraint("id", name="event_id_once"),
        sa.CheckConstraint("length(id) = 36", name="event_id_form_check"),
    )
    op.create_index("event_run_seq_index", "event", ["run", "seq"])
    edges = sa.text("kind IN ('run_opened', 'run_closed', 'corrected')")
    op.create_index(
        "event_edges_index",
        "event",
        ["kind", "run"],
        sqlite_where=edges,
        postgresql_where=edges,
    )
    refuse_changes("event", "events are never changed; add a correction", unique=("seq", "id"))
    _make(
        "reading",
        _seq(),
        _text("id"),
        _text("what"),
        sa.Column("value", NUMBER, nullable=False),
        _text("unit"),
        sa.Column("at_us", WHOLE, nullable=False),
        _text("source"),
        _text("run", nullable=True),
        _text("plate", nullable=True),
        _text("doubt"),
        sa.UniqueConstraint("id", name="reading_id_once"),
        sa.CheckConstraint("length(id) = 36", name="reading_id_form_check"),
    )
    op.create_index("reading_what_at_index", "reading", ["what", "at_us"])
    refuse_changes("reading", "readings are never changed; add another", unique=("seq", "id"))
    _plates()
    _judgements()


def _plates() -> None:
    _make(
        "plate",
        _text("id"),
        _text("label"),
        _text("size"),
        _text("made_on", nullable=True),
        sa.Column("silver_um", NUMBER),
        _text("silver_source"),
        sa.Column("times_repolished", WHOLE, nullable=False),
        _text("remark"),
        sa.UniqueConstraint("label", name="plate_label_once"),
        key="id",
    )
    _make(
        "outcome",
        _text("id"),
        *_of("outcome", "plate"),
        _text("run", nullable=True),
        _text("session"),
        sa.Column("place", WHOLE, nullable=False),
        _text("day"),
        sa.Column("commissioned", WHOLE, nullable=False),
        _text("conditions"),
        _text("remark"),
        sa.CheckConstraint("commissioned in (0, 1)", name="outcome_commissioned_check"),
        key="id",
    )
    op.create_index("outcome_day_index", "outcome", ["day", "session", "place"])
    op.create_index("outcome_plate_index", "outcome", ["plate"])


def _judgements() -> None:
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
            _seq(),
            *_of(name, "outcome"),
            *columns,
            sa.Column("at_us", WHOLE, nullable=False),
            _text("who"),
        )
        op.create_index(f"{name}_outcome_index", name, ["outcome"])
    for name in ("grade", "verdict", "stage"):
        refuse_changes(name, f"{name}s are never changed; add another, the last counts")
    refuse_changes("defect", "defects are never changed; withdraw one by another row")
