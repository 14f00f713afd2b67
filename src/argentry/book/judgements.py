"""What was said of makings: grades, verdicts, stages, defects. Rows are added; the last counts."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING, Any

from sqlalchemy import bindparam, literal, select, union_all

from argentry.book import tables
from argentry.book.rows import AT_ONCE, add_rows
from argentry.book.times import clean_text, from_us
from argentry.errors import BadInput
from argentry.records.plate import GRADES, STAGES, VERDICTS, Said

if TYPE_CHECKING:
    from collections.abc import Collection, Iterator, Mapping, Sequence

    from sqlalchemy import CompoundSelect, Connection, Table

    from argentry.records.plate import Making

STATES = ("ok", "fault")
# each table with what its rows are said of, what they say, and whether they take it back
SAID: tuple[tuple[Table, Any, Any, Any], ...] = (
    (tables.grade, literal(""), tables.grade.c.grade, literal(0)),
    (tables.verdict, literal(""), tables.verdict.c.verdict, literal(0)),
    (tables.stage, tables.stage.c.stage, tables.stage.c.state, literal(0)),
    (tables.defect, tables.defect.c.defect, tables.defect.c.step, tables.defect.c.withdrawn),
)


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
    """Return a judgement whose every word is known."""
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
    """Return a word that is known, or None."""
    if said is not None and said not in known:
        names = ", ".join(known)
        raise BadInput(where, "{said!r} is not known", "say one of {names}", said=said, names=names)
    return said


def judgements(
    connection: Connection, those: Sequence[str] | None = None, *, apart: Collection[int] = ()
) -> dict[str, Judgement]:
    """Return by making how it is judged by the last rows.

    Parameters
    ----------
    connection : Connection
        Of the book.
    those : sequence of str or None
        Ids of makings; None for all.
    apart : collection of int
        Rows of these times do not count. [µs]
    """
    grades: dict[str, str] = {}
    verdicts: dict[str, str] = {}
    stages: dict[str, dict[str, str]] = defaultdict(dict)
    defects: dict[str, dict[tuple[str, str], None]] = defaultdict(dict)
    for making, what, of, said, withdrawn, *_ in _said(connection, those, apart):
        if what == "stage":
            stages[making].pop(of, None)
            if said is not None:
                stages[making][of] = said
        elif what != "defect":
            (grades if what == "grade" else verdicts)[making] = said
        elif withdrawn:
            defects[making].pop((of, said), None)
        else:
            defects[making][of, said] = None
    return {
        of: Judgement(grades.get(of), verdicts.get(of), stages[of], tuple(defects[of]))
        for of in {*grades, *verdicts, *stages, *defects}
    }


def history(connection: Connection, making: str) -> tuple[Said, ...]:
    """Return all that was ever said of a making, in the order in which it came into the book."""
    found = [
        Said(from_us(at_us), who, what, of, None if withdrawn else said)
        for _, what, of, said, withdrawn, at_us, who, *_ in _said(connection, (making,))
    ]
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


def _said(
    connection: Connection, those: Sequence[str] | None, apart: Collection[int] = ()
) -> Iterator[Any]:
    """Return the rows of all four tables, those of each in order of their places.

    Each: making, table, what it is said of, what is said, whether it takes that back, when, who.
    """
    query = _query(some=those is not None, apart=bool(apart))
    for start in range(0, 1 if those is None else len(those), AT_ONCE):
        asked = {"those": those and those[start : start + AT_ONCE], "apart": sorted(apart)}
        yield from connection.execute(query, asked)


@cache
def _query(*, some: bool, apart: bool) -> CompoundSelect[Any]:
    """Return the question for the rows of some makings, or all, without those of some times."""
    queries = []
    for number, (table, of, said, withdrawn) in enumerate(SAID):
        own = (table.c.making, literal(table.name), of, said, withdrawn, table.c.at_us, table.c.who)
        query = select(*own, literal(number).label("number"), table.c.seq)
        if some:
            query = query.where(table.c.making.in_(bindparam("those", expanding=True)))
        if apart:
            query = query.where(table.c.at_us.not_in(bindparam("apart", expanding=True)))
        queries.append(query)
    return union_all(*queries).order_by("number", "seq")
