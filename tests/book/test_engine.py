"""Opening a book: its settings, what it refuses, one writer at a time; on both stores."""

import sqlite3
import threading
from contextlib import ExitStack

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from argentry.book import log
from argentry.book.engine import close_book, reading, writing
from argentry.book.hold import FILE
from argentry.book.open import open_book
from argentry.book.tables import APPEND_ONLY, APPLICATION_ID, metadata
from argentry.errors import ArgentryError, BadInput


def pragma(book, name):
    with reading(book) as connection:
        return connection.exec_driver_sql(f"PRAGMA {name}").scalar()


@pytest.mark.usefixtures("durable")
def test_sqlite_runs_at_the_durable_setting(tmp_path):
    book = open_book(tmp_path)
    assert book.kind == "sqlite"
    assert book.folder == tmp_path
    expected = {
        "journal_mode": "delete",
        "synchronous": 3,  # EXTRA
        "foreign_keys": 1,
        "recursive_triggers": 1,
        "busy_timeout": 10_000,
        "trusted_schema": 0,
        "mmap_size": 0,
        "cache_size": -1000,
        "application_id": APPLICATION_ID,
    }
    assert {name: pragma(book, name) for name in expected} == expected
    close_book(book)


def test_every_table_of_sqlite_is_strict(tmp_path):
    book = open_book(tmp_path)
    with reading(book) as connection:
        rows = connection.exec_driver_sql(
            "SELECT name, strict FROM pragma_table_list WHERE schema = 'main'"
        ).all()
    strict = {name for name, is_strict in rows if is_strict}
    assert strict == set(metadata.tables)
    close_book(book)


def test_postgresql_answers_only_when_it_is_on_the_disk(postgres, tmp_path):
    url = postgres.database()
    name = url.split("@/")[1].split("?")[0]
    postgres.sql(f"ALTER DATABASE {name} SET synchronous_commit = off")
    book = open_book(url, folder=tmp_path)
    with reading(book) as connection:
        assert connection.exec_driver_sql("SHOW synchronous_commit").scalar() == "on"
    close_book(book)
    postgres.drop(url)


def test_opening_again_changes_nothing(where, tmp_path):
    close_book(open_book(where, folder=tmp_path))
    before = sorted(path.name for path in tmp_path.iterdir())
    book = open_book(where, folder=tmp_path)
    assert log.last_seq(book) == 0
    close_book(book)
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_each_append_only_table_refuses_changes(book):
    """Every table named in APPEND_ONLY has its triggers, every other one that unseals a row."""
    with reading(book) as connection:
        if book.kind == "sqlite":
            sql = "SELECT tbl_name, count(*) FROM sqlite_schema WHERE type = 'trigger' GROUP BY 1"
        else:
            sql = (
                "SELECT tgrelid::regclass::text, count(*) FROM pg_trigger "
                "WHERE NOT tgisinternal GROUP BY 1"
            )
        found = {name: count for name, count in connection.execute(text(sql))}  # noqa: C416
    assert found == dict.fromkeys(metadata.tables, 1) | dict.fromkeys(APPEND_ONLY, 3)


def _one_lot_then(connection, error):
    columns = "id, name, amount, unit, supplier, received_on"
    values = "'a', 'b', 1.0, 'g', '', '2026-01-01'"
    connection.execute(text(f"INSERT INTO lot ({columns}) VALUES ({values})"))
    raise error


def test_nothing_is_left_of_a_failed_write(book):
    class StopError(Exception):
        pass

    with pytest.raises(StopError), writing(book) as connection:
        _one_lot_then(connection, StopError)
    with reading(book) as connection:
        assert connection.execute(text("SELECT count(*) FROM lot")).scalar() == 0


def test_what_a_maker_wrote_stands_in_no_error(book):
    with pytest.raises(DBAPIError) as told, writing(book) as connection:
        connection.execute(text("INSERT INTO nowhere VALUES (:words)"), {"words": "my neighbour"})
    assert "nowhere" in str(told.value)
    assert "neighbour" not in str(told.value)


def test_four_connections_are_kept_and_up_to_32_serve_at_once(tmp_path):
    book = open_book(tmp_path)
    with ExitStack() as held:
        for _ in range(32):
            assert held.enter_context(reading(book)).scalar(text("SELECT 1")) == 1
    assert book.engine.pool.checkedin() == 4
    close_book(book)


def test_a_second_writer_waits_for_the_first(book):
    order, began = [], threading.Event()

    def second():
        began.wait()
        with writing(book):
            order.append("second")

    thread = threading.Thread(target=second)
    thread.start()
    with writing(book):
        began.set()
        thread.join(0.2)
        order.append("first")
    thread.join()
    assert order == ["first", "second"]


def test_a_writer_that_waits_too_long_is_told(book, monkeypatch):
    with writing(book):
        other = open_second(book)
        with (
            pytest.raises(ArgentryError, match="another program is using the book"),
            writing(other),
        ):
            pass
        close_book(other)


def open_second(book):
    """Open the same book again with a short patience."""
    from sqlalchemy import event

    other = open_book(
        book.folder if book.kind == "sqlite" else str(book.engine.url.render_as_string(False)),
        folder=book.folder,
    )

    @event.listens_for(other.engine, "engine_connect")
    def _impatient(connection):
        short = "PRAGMA busy_timeout = 50" if book.kind == "sqlite" else "SET lock_timeout = 50"
        cursor = connection.connection.cursor()
        cursor.execute(short)
        cursor.close()
        connection.connection.dbapi_connection.commit()

    return other


@pytest.mark.parametrize(
    ("address", "says"),
    [
        ("mysql://root@host/book", "is not a known kind of store"),
        ("sqlite:///book.sqlite", "is not a known kind of store"),
        ("://book", "cannot be read"),
        ("nothing://", "is not a known kind of store|cannot be read"),
    ],
)
def test_an_address_that_names_no_store_is_refused(address, says):
    with pytest.raises(BadInput, match=says):
        open_book(address)


def test_a_server_that_is_not_there_is_told_without_the_password(tmp_path):
    address = f"postgresql+psycopg://me:verysecret@/book?host={tmp_path}"
    with pytest.raises(ArgentryError, match="cannot be reached") as caught:
        open_book(address)
    assert "verysecret" not in str(caught.value)


def test_a_folder_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(BadInput, match="no such folder"):
        open_book(tmp_path / "nowhere")


def test_the_studio_file_names_its_folder(tmp_path):
    (tmp_path / "studio.toml").write_text('name = "x"\n')
    book = open_book(tmp_path / "studio.toml")
    assert book.folder == tmp_path
    close_book(book)


def test_another_programs_database_is_left_alone(tmp_path):
    file = tmp_path / FILE
    with sqlite3.connect(file) as other:
        other.execute("CREATE TABLE theirs (x)")
    other.close()
    before = file.read_bytes()
    with pytest.raises(BadInput, match="not a book of argentry"):
        open_book(tmp_path)
    assert file.read_bytes() == before


@pytest.mark.parametrize("content", [b"no database at all" * 100, b"\0" * 4096])
def test_a_file_that_is_no_database_is_told(tmp_path, content):
    (tmp_path / FILE).write_bytes(content)
    with pytest.raises(ArgentryError):
        open_book(tmp_path)
    assert (tmp_path / FILE).read_bytes() == content


def test_a_folder_in_its_place_is_told(tmp_path):
    (tmp_path / FILE).mkdir()
    with pytest.raises(BadInput, match="it is not a file"):
        open_book(tmp_path)


def test_a_damaged_book_is_not_opened(tmp_path):
    from argentry.book.plates import add_plates
    from argentry.records.ids import new_id
    from argentry.records.plate import Plate

    book = open_book(tmp_path)
    add_plates(book, [Plate(new_id(), f"P {place}") for place in range(400)])
    close_book(book)
    file = tmp_path / FILE
    content = bytearray(file.read_bytes())
    content[-3 * 4096 :] = b"\xa5" * (3 * 4096)
    file.write_bytes(content)
    with pytest.raises(ArgentryError, match="damaged"):
        open_book(tmp_path)


def test_a_book_of_a_newer_argentry_is_not_touched(where, tmp_path):
    book = open_book(where, folder=tmp_path)
    with writing(book) as connection:
        connection.exec_driver_sql("UPDATE alembic_version SET version_num = '9999'")
    close_book(book)
    with pytest.raises(ArgentryError, match="use the newer argentry"):
        open_book(where, folder=tmp_path)


def test_each_table_finds_its_rows_without_a_checksum():
    for table in metadata.tables.values():
        (index,) = (one for one in table.indexes if one.name == f"{table.name}_unsealed_index")
        for store in ("sqlite", "postgresql"):
            told = str(index.dialect_options[store]["where"].compile())
            assert told.startswith(f"{table.name}.sum = "), store
