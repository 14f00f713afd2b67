"""Devices that were let in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import WHOLE

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "device",
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("scope", sa.Text, nullable=False),
        sa.Column("token_sha256", sa.Text, nullable=False),
        sa.Column("created_us", WHOLE, nullable=False),
        sa.Column("seen_us", WHOLE),
        sa.Column("revoked_us", WHOLE),
        sa.PrimaryKeyConstraint("id", name="device_key"),
        sa.UniqueConstraint("token_sha256", name="device_token_sha256_once"),
        sa.CheckConstraint("length(token_sha256) = 64", name="device_token_form_check"),
        sqlite_strict=True,
    )
