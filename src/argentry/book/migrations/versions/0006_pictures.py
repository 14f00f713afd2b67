"""Pictures: their size, what was said of them, what they carry; and what was read out of them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import WHOLE, refuse_but_sealing

revision = "0006"
down_revision = "0005"

SAYS = "what a picture said is never changed; add another row"


def upgrade() -> None:
    """Add the columns and the table; the rows are sealed again by whoever called."""
    for column in (
        sa.Column("width_px", WHOLE),
        sa.Column("height_px", WHOLE),
        _text("said", "{}"),
        _text("named", ""),
        _text("taken_from", "upload"),
        sa.Column("carries", sa.Text),
    ):
        op.add_column("photograph", column)
    op.execute("UPDATE photograph SET sum = ''")  # the sum is over all columns
    op.create_table(
        "judgement",
        sa.Column("seq", WHOLE, nullable=False, autoincrement=False),
        sa.Column("picture", sa.Text, nullable=False),
        sa.Column("second_picture", sa.Text),
        sa.Column("plate", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("judged_us", WHOLE, nullable=False),
        sa.Column("version", sa.Text, nullable=False),
        sa.Column("answer", sa.Text, nullable=False),
        sa.Column("confirmed_us", WHOLE),
        sa.Column("struck", sa.Text, nullable=False),
        _text("sum", ""),
        sa.ForeignKeyConstraint(
            ["picture", "plate"],
            ["photograph.sha256", "photograph.plate"],
            name="judgement_picture_of",
        ),
        sa.PrimaryKeyConstraint("seq", name="judgement_key"),
        sqlite_strict=True,
    )
    op.create_index("judgement_plate_index", "judgement", ["plate"])
    where = sa.text("sum = ''")
    op.create_index(
        "judgement_unsealed_index",
        "judgement",
        ["sum"],
        sqlite_where=where,
        postgresql_where=where,
    )
    refuse_but_sealing("judgement", SAYS)


def _text(name: str, default: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False, server_default=default)
