"""What is told of a book: faults, and what puts it at risk."""

from datetime import UTC, datetime

import pytest

from argentry.book import log
from argentry.book.care import doctor
from argentry.book.engine import close_book, writing
from argentry.book.open import open_book
from argentry.errors import ArgentryError
from argentry.records.event import Event
from argentry.records.ids import new_id

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def test_a_sound_book_has_no_faults(book):
    log.append(book, [Event(new_id(), new_id(), "remark_made", NOON, body={"words": "x"})])
    assert doctor.check(book) == []


def test_many_faults_are_counted_not_listed(tmp_path):
    book = open_book(tmp_path)
    made = [Event(new_id(), "r", "remark_made", NOON, body={"words": "x"}) for _ in range(100)]
    log.append(book, made)
    with writing(book) as connection:
        connection.exec_driver_sql("DROP TRIGGER event_kept_update")
        connection.exec_driver_sql("UPDATE event SET chain = 'x' || chain")
    wrong = doctor.check(book)
    assert len(wrong) == doctor.FEW + 1
    assert wrong[-1] == "and 80 more of this kind."
    close_book(book)


def test_a_missing_reading_is_found(book):
    from argentry.book.readings import add_readings
    from argentry.records.plate import Reading

    add_readings(book, [Reading(new_id(), "room_c", 1.0, "°C", NOON, "M") for _ in range(3)])
    drop = "reading_kept ON reading" if book.kind == "postgresql" else "reading_kept_delete"
    with writing(book) as connection:
        connection.exec_driver_sql(f"DROP TRIGGER {drop}")
        connection.exec_driver_sql("DELETE FROM reading WHERE seq = 2")
    assert doctor.check(book) == ["rows of reading are missing: only 2 of 3 are there."]


@pytest.mark.parametrize(
    ("mounts", "warned"),
    [
        ("/dev/a / ext4 rw 0 0\nserver:/x {here} nfs4 rw 0 0\n", True),
        ("/dev/a / ext4 rw 0 0\n//server/x {here} cifs rw 0 0\n", True),
        ("/dev/a / ext4 rw 0 0\n", False),
        ("server:/x / nfs4 rw 0 0\n/dev/a {here} ext4 rw 0 0\n", False),
    ],
)
def test_a_network_share_is_warned_of(tmp_path, monkeypatch, mounts, warned):
    here = tmp_path / "a studio"
    here.mkdir()
    table = tmp_path / "mounts"
    table.write_text(mounts.format(here=str(here.resolve()).replace(" ", "\\040")))
    monkeypatch.setattr(doctor, "MOUNTS", table)
    book = open_book(here)
    assert any("network share" in line for line in doctor.advice(book)) is warned
    close_book(book)


def test_where_the_system_does_not_tell_there_is_no_advice(tmp_path, monkeypatch):
    monkeypatch.setattr(doctor, "MOUNTS", tmp_path / "nothing")
    book = open_book(tmp_path)
    assert doctor.advice(book) == []
    close_book(book)


def test_a_server_that_does_not_sync_is_warned_of(postgres, tmp_path):
    """The server of these tests runs with fsync off, for speed."""
    url = postgres.database()
    book = open_book(url, folder=tmp_path)
    found = doctor.advice(book)
    assert [line.split(" with ")[1].split(" off")[0] for line in found] == [
        "fsync",
        "full_page_writes",
    ]
    close_book(book)
    postgres.drop(url)


def test_a_book_being_restored_is_not_opened(tmp_path):
    from argentry.book.hold import hold_alone

    give_back = hold_alone(tmp_path)
    with pytest.raises(ArgentryError, match="just being restored"):
        open_book(tmp_path)
    give_back()
    close_book(open_book(tmp_path))


def test_the_mark_goes_with_the_program(tmp_path):
    """A killed program holds nothing: its mark is gone with it."""
    import subprocess
    import sys

    code = (
        "import sys, pathlib, time\n"
        "from argentry.book.open import open_book\n"
        "book = open_book(pathlib.Path(sys.argv[1]))\n"
        "print('open', flush=True); time.sleep(60)\n"
    )
    child = subprocess.Popen(
        [sys.executable, "-c", code, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    from argentry.book.hold import hold_alone

    assert child.stdout.readline() == "open\n"
    with pytest.raises(ArgentryError, match="has the book open"):
        hold_alone(tmp_path)
    child.kill()
    child.wait()
    child.stdout.close()
    hold_alone(tmp_path)()
