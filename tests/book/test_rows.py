"""Rows at the end of a table that only grows: each has the next place, and none is left out."""

from __future__ import annotations

import pytest
from sqlalchemy import create_engine, select

from argentry.book import rows
from argentry.book.tables import grade


@pytest.fixture
def connection():
    engine = create_engine("sqlite://")
    grade.create(engine)
    with engine.begin() as begun:
        yield begun
    engine.dispose()


def row(name):
    return {
        one.name: None if one.nullable else name if one.type.python_type is str else 1
        for one in grade.columns
        if one.name != "seq"
    }


def test_each_row_has_the_next_place(connection):
    rows.add_rows(connection, grade, [row("a"), row("b")])
    rows.add_rows(connection, grade, [])
    rows.add_rows(connection, grade, [row("c")])
    assert connection.execute(select(grade.c.seq).order_by(grade.c.seq)).scalars().all() == [
        1,
        2,
        3,
    ]
    assert rows.next_seq(connection, grade) == 4
