"""Older books are brought up to date, after a backup, with all that is in them; on both stores."""

import sqlite3

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import text

from argentry.book import forms, log, upgrade
from argentry.book import open as opening
from argentry.book.care.doctor import check
from argentry.book.engine import Book, close_book, reading, sqlite_engine, writing
from argentry.book.open import open_book
from argentry.book.plates import makings, plates
from argentry.book.readings import series
from argentry.book.tables import metadata
from argentry.book.times import from_us
from argentry.errors import ArgentryError
from argentry.records.ids import make_id

RUN = make_id(1, 1)
FIRST_EVENT = """INSERT INTO event
    (seq, id, run, kind, at_us, plate, step, body, device, version) VALUES
    ({0}, '{1}', '{2}', 'remark_made', {0}000000, NULL, NULL, '{{"words":"ü {0}"}}', 'tablet', 1)"""
FIRST_READING = """INSERT INTO reading
    (seq, id, what, value, unit, at_us, source, run, plate, doubt) VALUES
    (1, '{0}', 'room_c', 18.5, 'C', 7, 'M', NULL, NULL, '')"""
FIRST_FORM = [
    *(FIRST_EVENT.format(place, make_id(place, 7), RUN) for place in range(1, 40)),
    """INSERT INTO plate
    (id, label, size, made_on, silver_um, silver_source, times_repolished, remark) VALUES
    ('p', 'A 1', 'half', '2026-01-02', 3.5, 'me', 2, 'old')""",
    """INSERT INTO outcome
    (id, plate, run, session, place, day, commissioned, conditions, remark) VALUES
    ('o', 'p', NULL, 's', 1, '2026-01-03', 1, '{"room_c":18.5}', '')""",
    "INSERT INTO grade (seq, outcome, grade, at_us, who) VALUES (1, 'o', 'good', 5, 'M')",
    FIRST_READING.format(make_id(3, 3)),
]


def sql_of_makings(sql):
    """An outcome is a making from form 0004 on."""
    sql = sql.replace("(seq, outcome, grade", "(seq, making, grade")
    if "INTO outcome" not in sql:
        return sql
    sql = sql.replace("INTO outcome", "INTO making").replace("remark)", "remark, state, given_up)")
    return sql.replace(", '')", ", '', 'finished', '{}')")


def old_book(where, tmp_path, form="0001"):
    """Make a book as an argentry of form 0001 would have left it."""
    made = (
        Book(sqlite_engine(tmp_path / "book.sqlite"), "", tmp_path, "sqlite")
        if where == tmp_path
        else open_book(where, folder=tmp_path)
    )
    with writing(made) as connection:
        upgrade.run_migrations(connection, form)
        for sql in FIRST_FORM:
            connection.exec_driver_sql(sql if form < "0004" else sql_of_makings(sql))
    close_book(made)


@pytest.fixture
def empty_where(request, where, postgres_if_needed):
    """Where a book may be made from nothing: the template of the tests has its tables already."""
    return postgres_if_needed or where


@pytest.fixture
def postgres_if_needed(request, where, tmp_path):
    if where == tmp_path:
        yield None
        return
    server = request.getfixturevalue("postgres")
    url = server.database(template="template1")
    yield url
    server.drop(url)


def make_old(url_or_folder, tmp_path, monkeypatch, form="0001"):
    if url_or_folder == tmp_path:
        old_book(url_or_folder, tmp_path, form)
        return
    with monkeypatch.context() as patch:
        patch.setattr(upgrade, "revisions", lambda: (form,))
        old_book(url_or_folder, tmp_path, form)


def test_a_first_book_with_all_that_is_in_it_becomes_a_present_one(
    empty_where, tmp_path, monkeypatch
):
    make_old(empty_where, tmp_path, monkeypatch)
    book = open_book(empty_where, folder=tmp_path)
    with reading(book) as connection:
        assert upgrade.revision(connection) == upgrade.revisions()[-1]
    words = [item.body["words"] for item in log.events(book, RUN)]
    assert words == [f"ü {place}" for place in range(1, 40)]
    assert plates(book)[0].remark == "old"
    assert (makings(book)[0].grade, makings(book)[0].conditions) == ("good", {"room_c": 18.5})
    assert series(book, "room_c", from_us(0), from_us(9))[0].value == 18.5
    assert check(book) == []  # the chain was laid along the old log
    with pytest.raises(Exception, match="never changed"), book.engine.begin() as connection:
        connection.execute(text("DELETE FROM event"))
    close_book(book)


def test_a_backup_goes_before_the_change(empty_where, tmp_path, monkeypatch):
    make_old(empty_where, tmp_path, monkeypatch)
    close_book(open_book(empty_where, folder=tmp_path))
    (saved,) = (tmp_path / "backups").glob("book-form-0001-*.sqlite")
    with sqlite3.connect(saved) as copy:
        assert copy.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
        assert copy.execute("SELECT count(*), max(body) FROM event").fetchone() == (
            39,
            '{"words":"ü 9"}',
        )
        assert copy.execute("SELECT label, silver_um FROM plate").fetchall() == [("A 1", 3.5)]
    copy.close()
    close_book(open_book(empty_where, folder=tmp_path))  # nothing to do: no second one
    assert len(list((tmp_path / "backups").iterdir())) == 1


def test_a_change_that_fails_leaves_the_old_book(empty_where, tmp_path, monkeypatch):
    make_old(empty_where, tmp_path, monkeypatch)
    real = upgrade.run_migrations

    def half(connection, to):
        real(connection, to)
        raise RuntimeError("the power went, or the step has a mistake")

    with monkeypatch.context() as patch:
        patch.setattr(upgrade, "run_migrations", half)
        with pytest.raises(RuntimeError):
            open_book(empty_where, folder=tmp_path)
    with monkeypatch.context() as patch:
        patch.setattr(upgrade, "revisions", lambda: ("0001",))
        book = open_book(empty_where, folder=tmp_path)
        with reading(book) as connection:
            assert upgrade.revision(connection) == "0001"
            assert connection.execute(text("SELECT count(*) FROM event")).scalar() == 39
        close_book(book)
    book = open_book(empty_where, folder=tmp_path)
    assert log.last_seq(book) == 39
    close_book(book)


def test_without_a_place_for_a_backup_nothing_is_changed(postgres, tmp_path, monkeypatch):
    url = postgres.database(template="template1")
    make_old(url, tmp_path, monkeypatch)
    with pytest.raises(ArgentryError, match="a backup goes first"):
        open_book(url)
    postgres.drop(url)


def test_when_no_backup_can_be_written_nothing_is_changed(tmp_path):
    old_book(tmp_path, tmp_path)
    (tmp_path / "backups").write_text("in the way")
    with pytest.raises(ArgentryError, match="nothing was changed"):
        open_book(tmp_path)
    with sqlite3.connect(tmp_path / "book.sqlite") as copy:
        assert copy.execute("SELECT version_num FROM alembic_version").fetchall() == [("0001",)]
    copy.close()


@pytest.mark.parametrize("form", upgrade.revisions()[1:-1])
def test_every_form_between_opens(empty_where, tmp_path, monkeypatch, form):
    make_old(empty_where, tmp_path, monkeypatch, form)
    book = opening.connect(empty_where, tmp_path)
    assert upgrade.upgrade(book) == [later for later in upgrade.revisions() if later > form]
    assert log.last_seq(book) == 39
    close_book(book)


def test_the_migrations_make_the_tables_of_the_program(book):
    """Alembic's own comparison, on the real store: nothing is missing, nothing is more."""
    with reading(book) as connection:
        context = MigrationContext.configure(
            connection, opts={"compare_type": True, "compare_server_default": False}
        )
        differences = compare_metadata(context, metadata)
    assert differences == []


def test_the_forms_follow_one_another():
    from alembic.config import Config
    from alembic.script import ScriptDirectory

    config = Config()
    config.set_main_option("script_location", str(forms.files(forms.HERE)))
    config.set_main_option("path_separator", "os")
    scripts = ScriptDirectory.from_config(config)
    assert tuple(sorted(step.revision for step in scripts.walk_revisions())) == upgrade.revisions()
    assert scripts.get_heads() == [upgrade.revisions()[-1]]
