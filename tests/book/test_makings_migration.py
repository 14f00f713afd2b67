"""A book of outcomes becomes a book of makings: nothing lost, what the runs prove restored.

The old book holds the rows of ``tests/fixtures/archive_form_1``, written by the argentry of then.
"""

import json
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from sqlalchemy import text
from tests.book.test_migrations import empty_where, postgres_if_needed

from argentry.book import upgrade
from argentry.book.care.doctor import check
from argentry.book.engine import Book, close_book, reading, sqlite_engine, writing
from argentry.book.makings import makings
from argentry.book.open import open_book
from argentry.book.plates import plates
from argentry.demo.write import write_demo
from argentry.exchange.plates.table import read_plate_table

__all__ = ["empty_where", "postgres_if_needed"]

ROWS = Path(__file__).parents[1] / "fixtures" / "archive_form_1" / "data" / "records"
OLD = ("plate", "outcome", "grade", "verdict", "stage", "defect", "event")
JUDGED = OLD[2:6]

# Dies in the midst of the change, as if the power went: the tables are dropped, some made again.
DIES = """
import os, sys
from argentry.book.open import open_book
from argentry.book.migrations import parts
from argentry.book import upgrade
import alembic.op as op

make = op.create_table
def half(name, *more, **words):
    if name == "verdict":
        os._exit(9)
    return make(name, *more, **words)
op.create_table = half
open_book(sys.argv[1])
"""


def rows_of(name):
    for line in (ROWS / f"{name}.jsonl").read_text(encoding="utf-8").splitlines():
        yield {
            key: json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
            if isinstance(value, dict)
            else value
            for key, value in json.loads(line).items()
        }


def fill(connection):
    for name in OLD:
        for row in rows_of(name):
            columns, values = ", ".join(row), ", ".join(f":{key}" for key in row)
            connection.execute(text(f"INSERT INTO {name} ({columns}) VALUES ({values})"), row)


def make_old(where, tmp_path, monkeypatch, fill=fill):
    if where == tmp_path:
        made = Book(sqlite_engine(tmp_path / "book.sqlite"), "", tmp_path, "sqlite")
        with writing(made) as connection:
            upgrade.run_migrations(connection, "0003")
            fill(connection)
        close_book(made)
        return
    with monkeypatch.context() as patch:
        patch.setattr(upgrade, "revisions", lambda: ("0003",))
        made = open_book(where, folder=tmp_path)
        with writing(made) as connection:
            fill(connection)
        close_book(made)


def by_label(book, label):
    ids = {plate.id: plate.label for plate in plates(book)}
    return [one for one in makings(book) if ids[one.plate] == label]


def test_a_plate_made_again_has_two_makings_again(empty_where, tmp_path, monkeypatch):
    make_old(empty_where, tmp_path, monkeypatch)
    book = open_book(empty_where, folder=tmp_path)
    lost, good = by_label(book, "P-101")
    assert (lost.grade, lost.defects, lost.verdict) == ("lost", (("fog", "iodise"),), None)
    assert (good.grade, good.defects, good.verdict) == ("good", (), "right")
    assert lost.run != good.run
    assert (lost.state, good.state) == ("given_up", "finished")
    assert (lost.day.isoformat(), good.day.isoformat()) == ("2026-05-12", "2026-05-14")
    close_book(book)


def test_given_up_untouched_is_none_and_given_up_begun_is_one(empty_where, tmp_path, monkeypatch):
    make_old(empty_where, tmp_path, monkeypatch)
    book = open_book(empty_where, folder=tmp_path)
    assert by_label(book, "P-102") == []
    (one,) = by_label(book, "P-103")
    assert (one.state, one.grade, one.given_up.why) == ("given_up", None, "scratched")
    close_book(book)


def test_nothing_is_lost_and_the_log_is_untouched(empty_where, tmp_path, monkeypatch):
    make_old(empty_where, tmp_path, monkeypatch)
    book = open_book(empty_where, folder=tmp_path)
    with reading(book) as connection:
        for name in JUDGED:
            found = connection.execute(text(f"SELECT * FROM {name} ORDER BY seq")).mappings()
            own = {"making", "sum"}
            found = [{k: v for k, v in row.items() if k not in own} for row in found]
            was = [{k: v for k, v in row.items() if k != "outcome"} for row in rows_of(name)]
            assert found == was
        events = connection.execute(text("SELECT * FROM event ORDER BY seq")).mappings()
        own = {"chain", "sum", "salt", "body_sha256"}
        found = [{k: v for k, v in row.items() if k not in own} for row in events]
        assert found == [{k: v for k, v in row.items() if k not in own} for row in rows_of("event")]
    ids = {one.id for one in makings(book)}
    assert {row["id"] for row in rows_of("outcome")} <= ids
    assert check(book) == []
    with pytest.raises(Exception, match="never changed"), book.engine.begin() as connection:
        connection.execute(text("DELETE FROM grade"))
    close_book(book)


def test_what_could_not_be_restored_is_said_once(empty_where, tmp_path, monkeypatch):
    make_old(empty_where, tmp_path, monkeypatch)
    for _ in range(2):
        book = open_book(empty_where, folder=tmp_path)
        with reading(book) as connection:
            words = upgrade.notes(connection)
        close_book(book)
        assert [one.split(" ")[0] for one in words] == ["3", "How", "1"]
        assert "P-106 of 14 May 2026" in words[1]


def test_a_program_that_dies_half_way_leaves_the_old_book_whole(tmp_path, monkeypatch):
    make_old(tmp_path, tmp_path, monkeypatch)
    died = subprocess.run([sys.executable, "-c", DIES, str(tmp_path)], check=False)
    assert died.returncode == 9
    file = tmp_path / "book.sqlite"
    assert (tmp_path / "book.sqlite-journal").exists()
    with sqlite3.connect(file) as copy:
        assert copy.execute("SELECT version_num FROM alembic_version").fetchall() == [("0003",)]
        for name in OLD:
            count = len(list(rows_of(name)))
            assert copy.execute(f"SELECT count(*) FROM {name}").fetchone() == (count,)
        assert copy.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    copy.close()
    (backup,) = (tmp_path / "backups").glob("book-form-0003-*.sqlite")
    assert backup.stat().st_size > 0
    book = open_book(tmp_path)
    assert len(by_label(book, "P-101")) == 2
    close_book(book)


def outcomes_of(table):
    """Put a table of plates into the tables of then."""

    def fill(connection):
        seq = 0
        for row in table.rows:
            plate, made = row.plate, row.making
            connection.execute(
                text(
                    "INSERT INTO plate VALUES (:id, :label, :size, :made_on, :silver_um,"
                    " :silver_source, :times_repolished, :remark)"
                ),
                {**vars(plate), "made_on": None},
            )
            connection.execute(
                text(
                    "INSERT INTO outcome VALUES (:id, :plate, NULL, :session, :order, :day, 0,"
                    " :conditions, :remark)"
                ),
                {**vars(made), "day": str(made.day), "conditions": json.dumps(made.conditions)},
            )
            if made.grade:
                seq += 1
                connection.execute(
                    text("INSERT INTO grade VALUES (:seq, :id, :grade, 5, 'me')"),
                    {"seq": seq, "id": made.id, "grade": made.grade},
                )

    return fill


def test_the_book_of_the_demo_comes_over_whole(empty_where, tmp_path, monkeypatch):
    write_demo(tmp_path / "demo")
    table = read_plate_table(tmp_path / "demo" / "plates.csv")
    make_old(empty_where, tmp_path, monkeypatch, outcomes_of(table))
    book = open_book(empty_where, folder=tmp_path)
    was = {row.making.id: row.making for row in table.rows}
    found = {one.id: one for one in makings(book)}
    assert found.keys() == was.keys()
    for key, one in found.items():
        assert (one.grade, one.conditions, one.day) == (
            was[key].grade,
            was[key].conditions,
            was[key].day,
        )
    with reading(book) as connection:
        assert upgrade.notes(connection) == []
    close_book(book)
