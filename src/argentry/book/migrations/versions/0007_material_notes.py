"""Notes on a lot, a bath or the waste: purity, price, dates, when it was collected.

Rows that are there are not touched; the table is append-only from its first row.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from argentry.book.migrations.parts import WHOLE, refuse_but_sealing

revision = "0007"
down_revision = "0006"

NAME = "material_note"
SAYS = "notes on materials are never changed; add another, the last counts"


def upgrade() -> None:
    """Add the table, and an index by which what one run took is found."""
    columns = [_text(name) for name in ("about", "of", "what", "value")]
    op.create_table(
        NAME,
        sa.Column("seq", WHOLE, autoincrement=False),
        *columns,
        sa.Column("at_us", WHOLE, nullable=False),
        _text("who"),
        sa.Column("sum", sa.Text, nullable=False, server_default=""),
        sa.PrimaryKeyConstraint("seq", name=f"{NAME}_key"),
        sqlite_strict=True,
    )
    op.create_index(f"{NAME}_of_index", NAME, ["of"])
    unsealed = sa.text("sum = ''")
    op.create_index(
        f"{NAME}_unsealed_index", NAME, ["sum"], sqlite_where=unsealed, postgresql_where=unsealed
    )
    op.create_index("lot_use_remark_index", "lot_use", ["remark"])
    refuse_but_sealing(NAME, SAYS)


def _text(name: str) -> sa.Column[str]:
    return sa.Column(name, sa.Text, nullable=False)
