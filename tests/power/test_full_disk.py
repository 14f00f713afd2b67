"""A full disk, a disk that may only be read, a server gone: one sentence, nothing half stored."""

import contextlib
import os
import shutil
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest

from argentry.book import log
from argentry.book.care.backup import backup
from argentry.book.care.doctor import check
from argentry.book.engine import Book, close_book, sqlite_engine
from argentry.book.open import open_book
from argentry.book.upgrade import upgrade
from argentry.errors import ArgentryError, BadInput
from argentry.records.event import Event
from argentry.records.ids import new_id

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
RUN = new_id()


def remark(length=3000):
    return Event(new_id(), RUN, "remark_made", NOON, body={"words": "x" * length})


def fill(book, most=3000):
    """Append until the store says no; return (acknowledged events, what it said)."""
    answered = []
    for _ in range(most):
        made = [remark(), remark()]
        try:
            log.append(book, made)
        except ArgentryError as error:
            return answered, error
        answered += made
    pytest.fail("the disk never got full")


def held(book, answered, error):
    """Assert that the book holds exactly what was acknowledged, and says why in one sentence."""
    assert not isinstance(error, BadInput)
    assert "\n" not in str(error)
    assert str(error).endswith(".")
    assert [item.id for item in log.events(book, RUN)] == [item.id for item in answered]
    assert check(book) == []


@pytest.fixture
def small(tmp_path):
    """A real file system of 3 MB, which the test may make read-only."""
    place = tmp_path / "small"
    place.mkdir()
    mount = shutil.which("mount")
    if mount is None or os.geteuid() != 0:
        pytest.skip("NO MOUNT: a small file system needs mount and root")
    done = subprocess.run(
        [mount, "-t", "tmpfs", "-o", "size=3m", "tmpfs", place], capture_output=True, check=False
    )
    if done.returncode:
        pytest.skip("NO MOUNT: this machine does not let a test mount a small file system")
    yield place
    subprocess.run(["umount", "-l", place], check=True)


def remount(place, how):
    subprocess.run(["mount", "-o", f"remount,{how}", place], check=True, capture_output=True)


def test_a_full_disk_is_told_and_what_was_answered_is_there(small):
    book = open_book(small)
    answered, error = fill(book)
    assert "the disk is full and nothing was stored" in str(error)
    assert len(answered) > 20
    held(book, answered, error)
    remount(small, "size=6m")  # somebody frees space: the same program goes on
    again = remark()
    log.append(book, [again])
    held(book, [*answered, again], error)
    close_book(book)


def test_a_backup_onto_a_full_disk_leaves_no_half_one(small, tmp_path):
    book = open_book(tmp_path)
    for _ in range(80):
        log.append(book, [remark(60_000)])
    with pytest.raises(ArgentryError):
        backup(book, small)
    assert list(small.iterdir()) == []
    close_book(book)


def test_a_disk_that_may_only_be_read_is_told_and_still_read(small):
    book = open_book(small)
    first = remark()
    log.append(book, [first])
    close_book(book)
    remount(small, "ro")
    book = open_book(small)
    with pytest.raises(ArgentryError, match="read-only here and nothing was stored") as caught:
        log.append(book, [remark()])
    held(book, [first], caught.value)
    close_book(book)
    remount(small, "rw")
    book = open_book(small)
    log.append(book, [second := remark()])
    held(book, [first, second], caught.value)
    close_book(book)


def test_no_book_is_begun_where_nothing_may_be_written(small):
    remount(small, "ro")
    with pytest.raises(ArgentryError, match=r"cannot be opened|only be read"):
        open_book(small)
    assert list(small.iterdir()) == []


@pytest.mark.parametrize("room", [260_000, 263_000, 270_001, 300_000])
def test_a_disk_full_at_any_byte_is_told(disks, room):
    """On a disk in memory that holds so many bytes: no mount is needed for this one."""
    disk = disks.Disk()
    engine = sqlite_engine(Path("book.sqlite"), creator=lambda: disks.Driver(disk))
    book = Book(engine, "small disk", None, "sqlite")
    upgrade(book)
    disk.room = room
    answered, error = fill(book)
    assert "the disk is full" in str(error)
    held(book, answered, error)
    disk.room = None
    log.append(book, [again := remark()])
    held(book, [*answered, again], error)
    close_book(book)


def test_a_file_that_became_read_only_is_told(disks):
    disk = disks.Disk()
    engine = sqlite_engine(Path("book.sqlite"), creator=lambda: disks.Driver(disk))
    book = Book(engine, "small disk", None, "sqlite")
    upgrade(book)
    log.append(book, [first := remark()])
    engine.dispose()
    disk.read_only = True
    with pytest.raises(ArgentryError, match=r"read-only here|cannot be opened") as caught:
        log.append(book, [remark()])
    held(book, [first], caught.value)
    close_book(book)


def test_a_full_database_server_is_told(durable_postgres, small, tmp_path):
    server = durable_postgres
    place = small / "space"
    place.mkdir()
    for parent in [small, *small.parents]:
        if parent.is_relative_to("/tmp") and parent != Path("/tmp"):
            with contextlib.suppress(OSError):
                parent.chmod(parent.stat().st_mode | 0o055)
    if server.as_user:
        shutil.chown(place, "postgres", "postgres")
    remount(small, "size=40m")
    server.sql(f"CREATE TABLESPACE small LOCATION '{place}'")
    url = server.database(template="template1", more="TABLESPACE small")
    book = open_book(url)
    used = sum(path.stat().st_blocks * 512 for path in place.rglob("*") if path.is_file())
    remount(small, f"size={used // 1024 + 600}k")
    answered, error = fill(book)
    assert "the disk is full and nothing was stored" in str(error)
    held(book, answered, error)
    remount(small, "size=60m")
    log.append(book, [again := remark()])
    held(book, [*answered, again], error)
    close_book(book)
    server.drop(url)
    server.sql("DROP TABLESPACE small")


def test_a_database_that_may_only_be_read_is_told(durable_postgres):
    url = durable_postgres.database()
    name = url.split("@/")[1].split("?")[0]
    book = open_book(url)
    log.append(book, [first := remark()])
    close_book(book)
    durable_postgres.sql(f"ALTER DATABASE {name} SET default_transaction_read_only = on")
    book = open_book(url)
    with pytest.raises(ArgentryError, match="read-only here") as caught:
        log.append(book, [remark()])
    held(book, [first], caught.value)
    close_book(book)
    durable_postgres.drop(url)


def test_a_database_server_that_goes_and_comes_is_told_and_used_again(durable_postgres):
    url = durable_postgres.database()
    book = open_book(url)
    log.append(book, [first := remark()])
    durable_postgres.stop("immediate")
    made = remark()
    with pytest.raises(ArgentryError, match=r"cannot be reached|was lost") as caught:
        log.append(book, [made])
    assert "\n" not in str(caught.value)
    durable_postgres.start()
    log.append(book, [first, made])
    held(book, [first, made], caught.value)
    close_book(book)
    durable_postgres.drop(url)
