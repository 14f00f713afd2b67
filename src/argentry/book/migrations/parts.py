"""Types and triggers the steps share. A change here would change the past: add, never edit."""

from __future__ import annotations

from typing import TYPE_CHECKING

from alembic import op
from sqlalchemy import REAL, BigInteger, Double, Integer, inspect

if TYPE_CHECKING:
    from sqlalchemy.types import TypeEngine

WHOLE: TypeEngine[int] = BigInteger().with_variant(Integer, "sqlite")
NUMBER: TypeEngine[float] = Double().with_variant(REAL, "sqlite")

_FUNCTION = """
CREATE OR REPLACE FUNCTION argentry_refuse() RETURNS trigger LANGUAGE plpgsql AS
$$ BEGIN RAISE EXCEPTION '%', TG_ARGV[0]; END $$
"""


def refuse_changes(table: str, says: str, *, unique: tuple[str, ...] = ("seq",)) -> None:
    """Make a table append-only: no row is changed, deleted or put in another's place.

    Parameters
    ----------
    table : str
        Its name.
    says : str
        What is told to whoever tries.
    unique : tuple of str
        Its unique columns: REPLACE over one of them is refused as well.
    """
    if op.get_bind().dialect.name == "postgresql":
        op.execute(_FUNCTION)
        op.execute(
            f"CREATE TRIGGER {table}_kept BEFORE UPDATE OR DELETE ON {table} "
            f"FOR EACH ROW EXECUTE FUNCTION argentry_refuse('{says}')"
        )
        op.execute(
            f"CREATE TRIGGER {table}_kept_whole BEFORE TRUNCATE ON {table} "
            f"FOR EACH STATEMENT EXECUTE FUNCTION argentry_refuse('{says}')"
        )
        return
    same = " OR ".join(f"{column} = NEW.{column}" for column in unique)
    for name, when in (
        ("kept_update", "BEFORE UPDATE"),
        ("kept_delete", "BEFORE DELETE"),
        ("kept_insert", "BEFORE INSERT"),
    ):
        only = f"WHEN EXISTS (SELECT 1 FROM {table} WHERE {same}) " if "INSERT" in when else ""  # noqa: S608 - names of our own
        op.execute(
            f"CREATE TRIGGER {table}_{name} {when} ON {table} {only}"
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
        )


def allow_changes(table: str) -> None:
    """Take the triggers of `refuse_changes` away, for a step that must fill a new column."""
    if op.get_bind().dialect.name == "postgresql":
        for name in ("kept", "kept_whole"):
            op.execute(f"DROP TRIGGER {table}_{name} ON {table}")
        return
    for name in ("kept_update", "kept_delete", "kept_insert"):
        op.execute(f"DROP TRIGGER {table}_{name}")


def refuse_but_sealing(table: str, says: str) -> None:
    """Make a table with sums append-only: a fresh row may be given its sum once, and no more.

    Parameters
    ----------
    table : str
        Its name; its rows have places and no ids.
    says : str
        What is told to whoever tries.
    """
    bind = op.get_bind()
    postgresql = bind.dialect.name == "postgresql"
    same = "IS NOT DISTINCT FROM" if postgresql else "IS"
    names = [column["name"] for column in inspect(bind).get_columns(table)]
    stays = " AND ".join(f"NEW.{name} {same} OLD.{name}" for name in names if name != "sum")
    allowed = f"(OLD.sum = '' AND {stays})"
    if postgresql:
        refuse = f"EXECUTE FUNCTION argentry_refuse('{says}')"
        for name, when in (
            ("kept", "BEFORE DELETE ON {0} FOR EACH ROW"),
            ("kept_update", f"BEFORE UPDATE ON {{0}} FOR EACH ROW WHEN (NOT {allowed})"),
            ("kept_whole", "BEFORE TRUNCATE ON {0} FOR EACH STATEMENT"),
        ):
            op.execute(f"CREATE TRIGGER {table}_{name} {when.format(table)} {refuse}")
        return
    for when, only in (
        ("update", f"WHEN NOT {allowed} "),
        ("delete", ""),
        ("insert", f"WHEN EXISTS (SELECT 1 FROM {table} WHERE seq = NEW.seq) "),  # noqa: S608 - our own
    ):
        op.execute(
            f"CREATE TRIGGER {table}_kept_{when} BEFORE {when.upper()} ON {table} {only}"
            f"BEGIN SELECT RAISE(ABORT, '{says}'); END"
        )
