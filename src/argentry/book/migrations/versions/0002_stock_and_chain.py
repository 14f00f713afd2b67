"""Baths, lots, photographs, work on plates; and a chain of hashes along the log.

The chain of a log that is there already is computed here: the one time a row of it is touched.
"""

from __future__ import annotations

import hashlib
import json

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import NUMBER, WHOLE, allow_changes, refuse_changes

revision = "0002"
down_revision = "0001"

TEXT = sa.Text


def _text(name: str, **more: bool) -> sa.Column[str]:
    return sa.Column(name, TEXT, nullable=more.pop("nullable", False), **more)  # type: ignore[arg-type]


def _whole(name: str, **more: bool) -> sa.Column[int]:
    return sa.Column(name, WHOLE, nullable=more.pop("nullable", False), **more)  # type: ignore[arg-type]


def _number(name: str) -> sa.Column[float]:
    return sa.Column(name, NUMBER, nullable=False)


def _make(name: str, key: str, *parts: sa.schema.SchemaItem) -> None:
    op.create_table(
        name, *parts, sa.PrimaryKeyConstraint(key, name=f"{name}_key"), sqlite_strict=True
    )


def _uses(name: str, owner: str, *parts: sa.schema.SchemaItem) -> None:
    of = sa.ForeignKeyConstraint([owner], [f"{owner}.id"], name=f"{name}_{owner}_of")
    seq = sa.Column("seq", WHOLE, autoincrement=False)
    _make(name, "seq", seq, _text(owner), *parts, _whole("at_us"), _text("who"), of)
    op.create_index(f"{name}_{owner}_index", name, [owner])


def upgrade() -> None:
    """Add the tables and the chain."""
    _make(
        "bath",
        "id",
        _text("id"),
        _text("name"),
        _text("recipe"),
        _whole("mixed_us"),
        _number("volume_ml"),
        _whole("discarded_us", nullable=True),
    )
    _uses("bath_use", "bath", _whole("plates"), _number("area_cm2"))
    _make(
        "lot",
        "id",
        _text("id"),
        _text("name"),
        _number("amount"),
        _text("unit"),
        _text("supplier"),
        _text("received_on"),
    )
    _uses("lot_use", "lot", _number("amount"), _text("remark"))
    once = sa.UniqueConstraint("id", name="plate_work_id_once")
    _uses("plate_work", "plate", _text("id"), _text("kind"), _text("remark"), once)
    op.create_table(
        "photograph",
        _text("sha256"),
        _text("plate"),
        _text("kind"),
        _whole("taken_us"),
        _text("media_type"),
        _whole("bytes"),
        sa.ForeignKeyConstraint(["plate"], ["plate.id"], name="photograph_plate_of"),
        sa.PrimaryKeyConstraint("sha256", "plate", name="photograph_key"),
        sa.CheckConstraint("length(sha256) = 64", name="photograph_sha256_form_check"),
        sqlite_strict=True,
    )
    op.create_index("photograph_plate_index", "photograph", ["plate"])
    refuse_changes("bath_use", "uses of a bath are never changed; add another")
    refuse_changes("lot_use", "uses of a lot are never changed; add another")
    refuse_changes(
        "plate_work", "work on a plate is never changed; add another row", unique=("seq", "id")
    )
    _chain()


def _chain() -> None:
    op.add_column("event", sa.Column("chain", TEXT, nullable=False, server_default=""))
    allow_changes("event")
    bind = op.get_bind()
    names = "id, run, kind, at_us, plate, step, body, device, version"
    last = ""
    rows = bind.exec_driver_sql(f"SELECT seq, {names} FROM event ORDER BY seq").all()  # noqa: S608
    for seq, *content in rows:
        text = json.dumps([last, *content], ensure_ascii=False, separators=(",", ":"))
        last = hashlib.sha256(text.encode()).hexdigest()
        bind.execute(
            sa.text("UPDATE event SET chain = :chain WHERE seq = :seq"),
            {"chain": last, "seq": seq},
        )
    refuse_changes("event", "events are never changed; add a correction", unique=("seq", "id"))
