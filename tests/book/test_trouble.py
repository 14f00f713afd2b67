"""What the store says when it cannot, in one sentence; mistakes of the program stay mistakes."""

import sqlite3

import pytest
from sqlalchemy.exc import OperationalError, PendingRollbackError, ProgrammingError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from argentry.book.engine import close_book
from argentry.book.open import open_book
from argentry.book.trouble import AWAY, GONE, POSTGRESQL, SQLITE, sentence, told
from argentry.errors import ArgentryError


class FromServer(Exception):  # noqa: N818
    """A driver's error with the server's code."""

    def __init__(self, code=None, words=""):
        super().__init__(words)
        self.sqlstate = code


def wrapped(error, kind=ProgrammingError, **more):
    return kind("SELECT 1", {}, error, **more)


@pytest.mark.parametrize("part", SQLITE)
def test_each_message_of_sqlite_has_its_sentence(part):
    error = sqlite3.OperationalError(f"It said: {part.upper()}!")
    assert sentence(error) == sentence(wrapped(error)) == SQLITE[part]


@pytest.mark.parametrize(
    ("code", "say"),
    [
        ("53100", SQLITE["database or disk is full"]),
        ("28P01", POSTGRESQL["28"]),
        ("58030", SQLITE["disk i/o error"]),
        ("57P01", GONE),
        ("XX001", SQLITE["malformed"]),
        ("XX002", SQLITE["malformed"]),
        ("08006", GONE),
        ("42601", None),
        ("23505", None),
    ],
)
def test_codes_of_the_server(code, say):
    assert sentence(wrapped(FromServer(code))) == say


def test_a_server_that_is_away_and_one_that_was_lost():
    assert sentence(wrapped(FromServer(None, "connection to server failed"))) == AWAY
    assert sentence(wrapped(FromServer(None, "could not resolve host"))) == AWAY
    assert sentence(wrapped(FromServer(None, "?"), connection_invalidated=True)) == GONE
    assert sentence(wrapped(type("OperationalError", (Exception,), {})("?"))) == GONE
    assert sentence(wrapped(FromServer(None, "?"))) is None


def test_the_stores_trouble_is_told_with_its_address_and_mistakes_pass():
    for error, words in (
        (PoolTimeout(), "too many requests are waiting"),
        (PendingRollbackError(), "was lost"),
        (
            wrapped(sqlite3.OperationalError("disk I/O error"), OperationalError),
            "the disk is failing",
        ),
    ):
        with pytest.raises(ArgentryError, match=f"^book.sqlite: .*{words}"), told("book.sqlite"):
            raise error
    with pytest.raises(ProgrammingError), told("book.sqlite"):
        raise wrapped(sqlite3.ProgrammingError("no such column"))


def test_a_rotten_name_in_the_schema_is_told_and_does_not_end_in_a_traceback(tmp_path):
    close_book(open_book(tmp_path))
    file = tmp_path / "book.sqlite"
    file.write_bytes(file.read_bytes().replace(b"CREATE TABLE plate ", b"CREATE T\xeaBLE plate "))
    with pytest.raises(ArgentryError, match="the book is damaged"):
        open_book(tmp_path)


def test_what_a_maker_wrote_never_stands_in_an_error(book):
    """The log of a server keeps errors of the store: their words, never the values."""
    from sqlalchemy.exc import DBAPIError

    from argentry.book import tables
    from argentry.book.engine import writing

    with pytest.raises(DBAPIError) as caught, writing(book) as connection:
        connection.execute(tables.plate.insert(), [{"id": "a secret of the maker", "label": None}])
    assert "parameters hidden" in str(caught.value)
    if book.kind == "sqlite":  # of a server's own detail: tests/web/test_serve.py
        assert "a secret of the maker" not in str(caught.value)
