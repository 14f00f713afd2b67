"""What was said of makings: grades, verdicts, stages, defects. Rows are added; the last counts."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from sqlalchemy import select

from argentry.book import tables
from argentry.book.rows import add_rows
from argentry.book.times import clean_text, from_us
from argentry.errors import BadInput
from argentry.records.plate import GRADES, STAGES, VERDICTS, Said

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping, Sequence

    from sqlalchemy import Connection, Select, Table

    from argentry.records.plate import Making

STATES = ("ok", "fault")


@dataclass(frozen=True)
class Judgement:
    """How a making was judged; what was not said is None or absent."""

    grade: str | None = None
    verdict: str | None = None
    stages: Mapping[str, str] = field(default_factory=dict)
    defects: tuple[tuple[str, str], ...] = ()


NOTHING = Judgement()


def judgement_of(one: Making) -> Judgement:
    """Return how a making is judged now."""
    return Judgement(one.grade, one.verdict, one.stages, one.defects)


def checked(said: Judgement) -> Judgement:
    """Return a judgement whose every word is known.

    Raises
    ------
    BadInput
        If one is not.
    """
    word("grade", said.grade, GRADES)
    word("verdict", said.verdict, VERDICTS)
    for stage, state in said.stages.items():
        word("stage", stage, STAGES)
        word("state", state, STATES)
    for defect, step in said.defects:
        clean_text("defect", defect, 100)
        clean_text("step", step, 100)
    return said


def word(where: str, said: str | None, known: Sequence[str]) -> str | None:
    """Return a word that is known, or None.

    Raises
    ------
    BadInput
        If it is not.
    """
    if said is not None and said not in known:
        names = ", ".join(known)
        raise BadInput(where, "{said!r} is not known", "say one of {names}", said=said, names=names)
    return said


def judgements(
    connection: Connection, those: Select[Any] | None, *, apart: Collection[int] = ()
) -> dict[str, Judgement]:
    """Return by making how it is judged by the last rows.

    Parameters
    ----------
    connection : Connection
        Of the book.
    those : Select or None
        Ids of makings; None for all.
    apart : collection of int
        Rows of these times do not count. [µs]
    """
    grades = dict(_rows(connection, tables.grade, ("grade",), those, apart))
    verdicts = dict(_rows(connection, tables.verdict, ("verdict",), those, apart))
    stages: dict[str, dict[str, str]] = defaultdict(dict)
    for of, stage, state in _rows(connection, tables.stage, ("stage", "state"), those, apart):
        stages[of].pop(stage, None)
        if state is not None:
            stages[of][stage] = state
    defects: dict[str, dict[tuple[str, str], None]] = defaultdict(dict)
    columns = ("defect", "step", "withdrawn")
    for of, defect, step, withdrawn in _rows(connection, tables.defect, columns, those, apart):
        if withdrawn:
            defects[of].pop((defect, step), None)
        else:
            defects[of][defect, step] = None
    return {
        of: Judgement(grades.get(of), verdicts.get(of), stages[of], tuple(defects[of]))
        for of in {*grades, *verdicts, *stages, *defects}
    }


def history(connection: Connection, making: str) -> tuple[Said, ...]:
    """Return all that was ever said of a making, in the order in which it came into the book."""
    found = []
    for table, what, value in (
        (tables.grade, None, "grade"),
        (tables.verdict, None, "verdict"),
        (tables.stage, "stage", "state"),
        (tables.defect, "defect", "step"),
    ):
        query = select(table).where(table.c.making == making).order_by(table.c.seq)
        for row in connection.execute(query).mappings():
            of = row[what] if what else ""
            gone = bool(row.get("withdrawn", 0))
            said = None if gone else row[value]
            found.append(Said(from_us(row["at_us"]), row["who"], table.name, of, said))
    return tuple(sorted(found, key=lambda one: one.at))


def judge(
    connection: Connection,
    making: str,
    was: Judgement,
    now: Judgement,
    stamp: Mapping[str, Any],
) -> None:
    """Add the rows that lead from one judgement of a making to another.

    Parameters
    ----------
    connection : Connection
        Within a writing transaction.
    making : str
        Its id.
    was, now : Judgement
        As it stands, and as it shall.
    stamp : Mapping
        ``at_us`` and ``who``.
    """
    for name, rows in difference(was, now).items():
        table = tables.metadata.tables[name]
        add_rows(connection, table, ({"making": making, **row, **stamp} for row in rows))


def difference(was: Judgement, now: Judgement) -> dict[str, list[Mapping[str, Any]]]:
    """Return by table the rows that lead from one judgement to another."""
    rows: dict[str, list[Mapping[str, Any]]] = defaultdict(list)
    for name in ("grade", "verdict"):
        if getattr(was, name) != getattr(now, name):
            rows[name].append({name: getattr(now, name)})
    for stage in dict.fromkeys([*was.stages, *now.stages]):
        if was.stages.get(stage) != now.stages.get(stage):
            rows["stage"].append({"stage": stage, "state": now.stages.get(stage)})
    for pairs, others, withdrawn in (
        (was.defects, now.defects, 1),
        (now.defects, was.defects, 0),
    ):
        rows["defect"] += [
            {"defect": defect, "step": step, "withdrawn": withdrawn}
            for defect, step in dict.fromkeys(pairs)
            if (defect, step) not in others
        ]
    return rows


def _rows(
    connection: Connection,
    table: Table,
    columns: Sequence[str],
    those: Select[Any] | None,
    apart: Collection[int],
) -> Iterable[Any]:
    """Return rows in order of their places: whoever puts them in a dictionary keeps the last."""
    query = select(table.c.making, *(table.c[name] for name in columns)).order_by(table.c.seq)
    if those is not None:
        query = query.where(table.c.making.in_(those))
    if apart:
        query = query.where(table.c.at_us.not_in(sorted(apart)))
    return connection.execute(query).all()
