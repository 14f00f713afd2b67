"""Backups and what they bring back; on both stores and from one to the other."""

import os
import shutil
import sqlite3
import subprocess
import sys
import threading
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from unittest.mock import MagicMock

import pytest
from sqlalchemy.exc import OperationalError

from argentry.book import log
from argentry.book.baths import add_bath, baths
from argentry.book.care.backup import SUMS, backup, check, restore, rotate
from argentry.book.care.copies import copy_book
from argentry.book.engine import close_book
from argentry.book.hold import FILE
from argentry.book.lots import add_lots, lots
from argentry.book.notebooks import keep_memory, keep_notebook, kept_notebook, sha256_of
from argentry.book.open import open_book
from argentry.book.pictures.kept import add_picture, picture_file
from argentry.book.plates import add_making, add_plate, makings, plates
from argentry.book.readings import add_readings, latest
from argentry.errors import ArgentryError, BadInput
from argentry.keeping.book import daily_backup
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.material import Bath, Lot
from argentry.records.plate import Making, Plate, Reading
from argentry.studio.file import studio_from_tables

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
RUN = new_id()


def remark(words="x"):
    return Event(new_id(), RUN, "remark_made", NOON, body={"words": words})


@pytest.fixture
def filled(book):
    plate = Plate(new_id(), "A 1", silver_um=3.3)
    add_plate(book, plate)
    add_making(book, Making(new_id(), plate.id, RUN, "s", 1, date(2026, 6, 21), grade="fine"))
    add_readings(book, [Reading(new_id(), "room_c", 18.25, "°C", NOON, "M")])
    add_bath(book, Bath(new_id(), "Fixer", "fixer", NOON, 500.0, 3, 270.0))
    add_lots(book, [Lot(new_id(), "Iodine", 100.0, "g", "Shop", date(2026, 1, 1), 2.0)])
    add_picture(book, plate.id, "coat", NOON, b"\xff\xd8\xff" + bytes(1000))
    log.append(book, [remark(str(place)) for place in range(30)])
    (book.folder / "studio.toml").write_text('name = "Yard"\n')
    return book


def content(book):
    with_time = [baths(book), lots(book), latest(book, "room_c"), log.events(book, RUN)]
    return plates(book), makings(book), with_time


def test_a_backup_holds_the_whole_book(filled, tmp_path):
    made = backup(filled, tmp_path / "far" / "away")
    assert sorted(path.name for path in made.iterdir()) == sorted(
        [SUMS, FILE, "pictures", "studio.toml"]
    )
    assert [path.name for path in made.parent.iterdir()] == [made.name]
    back = tmp_path / "back"
    assert restore(back, made) is None
    book = open_book(back)
    assert content(book) == content(filled)
    assert check(book) == []
    close_book(book)
    assert (back / "studio.toml").read_text() == 'name = "Yard"\n'


def test_the_spectra_that_the_studio_names_come_along(book, tmp_path):
    """A studio file that names a filter's spectrum cannot be read without it."""
    (book.folder / "studio.toml").write_text(
        'name = "Yard"\n[[frame]]\nspectrum = "red.csv"\n[frame.lamp]\nspectrum = "lamp.csv"\n'
        '[subject]\nwindow_spectrum = "generic float glass pane"\n'
        '[[lens]]\nspectrum = "../far.csv"\n'
    )
    for name in ("red.csv", "lamp.csv", "other.csv"):
        (book.folder / name).write_text(name)
    (book.folder.parent / "far.csv").write_text("not of this folder")
    made = backup(book, tmp_path / "away")
    assert {path.name for path in made.iterdir()} >= {"red.csv", "lamp.csv", "studio.toml"}
    assert not (made / "other.csv").exists()
    assert "red.csv" in (made / SUMS).read_text()
    back = tmp_path / "back"
    back.mkdir()
    (back / "lamp.csv").write_text("stays")
    restore(back, made)
    assert (back / "red.csv").read_text() == "red.csv"
    assert (back / "lamp.csv").read_text() == "stays"


def test_imported_notebooks_come_along_and_answers_stay(book, tmp_path):
    keep_notebook(book.folder, b"plate;coat\n", "[columns]\n")
    keep_memory(book.folder, "# as it was saved\n")
    (book.folder / "notebooks" / "own.txt").write_text("not of argentry")
    made = backup(book, tmp_path / "away")
    name = sha256_of(b"plate;coat\n")
    kept = {path.name for path in (made / "notebooks").iterdir()}
    assert kept == {name, f"{name}.toml", "remembered.toml"}
    back = tmp_path / "back"
    back.mkdir()
    for answer in ("# at first asked\n", "# answered since\n"):  # of one length: the later stays
        keep_memory(back, answer)
    restore(back, made)
    assert kept_notebook(back, name) == b"plate;coat\n"
    assert kept_notebook(back, f"{name}.toml") == b"[columns]\n"
    assert kept_notebook(back, "remembered.toml") == b"# answered since\n"


def test_the_checksums_are_those_of_sha256sum(filled, tmp_path):
    """The file is read by the usual tool, so that a backup can be checked without argentry."""
    tool = shutil.which("sha256sum")
    if tool is None:
        pytest.skip("NO sha256sum on this machine")
    made = backup(filled, tmp_path / "far")
    done = subprocess.run([tool, "-c", SUMS], cwd=made, capture_output=True, text=True, check=True)
    assert done.stdout.count(": OK") == 3


def test_a_backup_of_one_store_may_be_restored_as_the_other(filled, tmp_path, postgres):
    made = backup(filled, tmp_path / "far")
    url = postgres.database()
    studio = tmp_path / "bench"
    studio.mkdir()
    restore(url, made, studio=studio)
    book = open_book(url, folder=studio)
    assert content(book) == content(filled)
    assert check(book) == []
    log.append(book, [remark("goes on")])
    assert log.last_seq(book) == 31
    with pytest.raises(BadInput, match="holds a book"):
        restore(url, made)
    close_book(book)
    postgres.drop(url)


def test_a_backup_may_be_taken_while_events_come_in(filled, tmp_path):
    stop, failures, sent = threading.Event(), [], []

    def write():
        try:
            while not stop.is_set():
                sent.append(log.append(filled, [remark("live")])[0].seq)
        except Exception as error:  # noqa: BLE001 - told below
            failures.append(error)

    writer = threading.Thread(target=write)
    writer.start()
    made = []
    for _ in range(3):
        before = log.last_seq(filled)
        made.append((before, backup(filled, tmp_path / "far"), log.last_seq(filled)))
    stop.set()
    writer.join()
    assert failures == []
    assert sent == list(range(31, 31 + len(sent)))
    for place, (before, saved, after) in enumerate(made):
        back = tmp_path / f"back{place}"
        restore(back, saved)
        book = open_book(back)
        assert before <= log.last_seq(book) <= after
        assert check(book) == []
        close_book(book)


def test_the_old_book_is_moved_aside_never_deleted(tmp_path):
    book = open_book(tmp_path)
    log.append(book, [remark("first")])
    saved = backup(book, tmp_path / "far")
    log.append(book, [remark("second")])
    close_book(book)
    aside = restore(tmp_path, saved)
    now = open_book(tmp_path)
    assert [item.body["words"] for item in log.events(now, RUN)] == ["first"]
    close_book(now)
    again = restore(tmp_path, aside)
    assert again != aside
    now = open_book(tmp_path)
    assert [item.body["words"] for item in log.events(now, RUN)] == ["first", "second"]
    close_book(now)


def test_nothing_is_put_in_the_place_of_an_open_book(tmp_path):
    book = open_book(tmp_path)
    saved = backup(book, tmp_path / "far")
    log.append(book, [remark("later")])
    with pytest.raises(ArgentryError, match="has the book open"):
        restore(tmp_path, saved)
    assert log.last_seq(book) == 1
    close_book(book)
    restore(tmp_path, saved)


@pytest.mark.parametrize("what", ["book", "picture", "missing", "sums", "unlisted"])
def test_a_damaged_backup_is_refused_and_the_book_stays(filled, tmp_path, what):
    saved = backup(filled, tmp_path / "far")
    picture = next((saved / "pictures").iterdir())
    if what == "book":
        with (saved / FILE).open("r+b") as file:
            file.seek(6000)
            file.write(b"\xa5" * 50)
    elif what == "picture":
        picture.write_bytes(b"other")
    elif what == "missing":
        picture.unlink()
    elif what == "unlisted":
        lines = (saved / SUMS).read_text().splitlines(keepends=True)
        (saved / SUMS).write_text("".join(one for one in lines if FILE not in one))
    else:
        (saved / SUMS).write_text(f"{'0' * 64}  ../../etc/passwd\n")
    with pytest.raises(ArgentryError, match="use another"):
        restore(tmp_path / "other", saved)
    assert not (tmp_path / "other" / FILE).exists()


def test_a_changed_log_in_a_bare_file_is_refused(tmp_path):
    """Without its checksums a backup is still known by the chain of its log."""
    book = open_book(tmp_path)
    log.append(book, [remark("a"), remark("b")])
    saved = backup(book, tmp_path / "far") / FILE
    close_book(book)
    (saved.parent / SUMS).unlink()
    content = saved.read_bytes()
    assert b'{"words":"a"}' in content
    saved.write_bytes(content.replace(b'{"words":"a"}', b'{"words":"z"}'))
    with pytest.raises(ArgentryError, match="was changed after it was written"):
        restore(tmp_path / "other", saved)


def test_where_there_is_no_backup(tmp_path):
    for place in (tmp_path, tmp_path / "nothing"):
        with pytest.raises(BadInput, match="no backup here"):
            restore(tmp_path / "other", place)


def test_the_folder_that_holds_backups_names_the_newest(filled, tmp_path):
    made = [backup(filled, tmp_path / "saved") for _ in range(2)]
    os.utime(made[1] / FILE, (1, 1))
    with pytest.raises(BadInput, match=f"folder of backups .2.; .*; the newest is {made[0]}"):
        restore(tmp_path / "new", tmp_path / "saved")


def test_a_backup_that_cannot_be_written_leaves_nothing(filled, tmp_path):
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(ArgentryError, match="cannot be written"):
        backup(filled, tmp_path / "file" / "below")


def test_a_full_disk_is_told_by_the_folder_that_was_named_and_no_folder_stays(
    one_book, tmp_path, monkeypatch
):
    opened = sqlite3.connect

    def small(file):
        connection = opened(file)
        connection.execute("PRAGMA max_page_count = 2")  # SQLite's own "disk is full"
        return connection

    monkeypatch.setattr("argentry.book.care.copies.sqlite3.connect", small)
    with pytest.raises(ArgentryError, match="the disk is full") as refused:
        backup(one_book, tmp_path / "stick" / "saved")
    assert str(refused.value).startswith(f"{tmp_path / 'stick' / 'saved'}: ")
    assert not (tmp_path / "stick").exists()


def test_a_full_disk_under_a_copy_of_a_server_is_not_the_servers(tmp_path, monkeypatch):
    """The sentence named the database server, whose disk had room."""

    def full(*_):
        raise OperationalError("insert", {}, sqlite3.OperationalError("database or disk is full"))

    monkeypatch.setattr("argentry.book.care.copies._copy_rows", full)
    server = MagicMock(kind="postgresql", url="postgresql://somewhere/book")
    with pytest.raises(ArgentryError, match="the disk is full") as refused:
        copy_book(server, tmp_path / "book.sqlite", "stick/saved")
    assert str(refused.value).startswith("stick/saved: ")


def test_pictures_come_back(filled, tmp_path):
    from argentry.book.pictures.kept import pictures

    saved = backup(filled, tmp_path / "far")
    restore(tmp_path / "back", saved)
    book = open_book(tmp_path / "back")
    (one,) = pictures(book)
    assert picture_file(book, one.sha256).stat().st_size == one.bytes
    close_book(book)


def rot(book, table, change):
    """Change one value as another program would, its trigger out of the way."""
    with sqlite3.connect(book.folder / FILE) as file:
        named = (f"{table}_kept_update",)
        (sql,) = file.execute("SELECT sql FROM sqlite_schema WHERE name = ?", named).fetchone()
        file.execute(f"DROP TRIGGER {table}_kept_update")
        file.execute(f"UPDATE {table} SET {change}")
        file.execute(sql)
    file.close()


@pytest.fixture
def one_book(tmp_path):
    book = open_book(tmp_path / "yard")
    yield book
    close_book(book)


@pytest.fixture(autouse=True)
def yard(tmp_path):
    (tmp_path / "yard").mkdir()


@pytest.mark.parametrize("what", ["a grade", "a picture"])
def test_no_backup_is_written_that_could_not_be_restored(filled, tmp_path, what):
    if filled.kind != "sqlite":
        pytest.skip("rot is put into the file")
    if what == "a grade":
        rot(filled, "grade", "grade = 'good'")
    else:
        next((filled.folder / "pictures").iterdir()).write_bytes(b"other")
    with pytest.raises(ArgentryError, match=r"no backup was written.*argentry book salvage"):
        backup(filled, tmp_path / "far")
    assert not (tmp_path / "far").exists()


@pytest.mark.parametrize("name", [FILE, SUMS, "pictures"])
def test_a_link_in_a_backup_is_not_followed(filled, tmp_path, name):
    saved = backup(filled, tmp_path / "far")
    elsewhere = tmp_path / f"elsewhere-{name}"
    (saved / name).rename(elsewhere)
    (saved / name).symlink_to(elsewhere)
    with pytest.raises(ArgentryError):
        restore(tmp_path / "other", saved)
    assert not (tmp_path / "other" / FILE).exists()


def test_a_bare_book_that_is_a_link_is_not_followed(tmp_path, filled):
    link = tmp_path / "linked.sqlite"
    link.symlink_to(backup(filled, tmp_path / "far") / FILE)
    with pytest.raises(BadInput, match="it is a link"):
        restore(tmp_path / "other", link)
    assert not (tmp_path / "other" / FILE).exists()


def test_a_linked_picture_is_not_followed(filled, tmp_path):
    saved = backup(filled, tmp_path / "far")
    (picture,) = (saved / "pictures").iterdir()
    picture.rename(tmp_path / "secret")
    picture.symlink_to(tmp_path / "secret")
    with pytest.raises(ArgentryError, match="use another"):
        restore(tmp_path / "other", saved)


def test_what_the_checksums_do_not_list_stays_where_it_is(filled, tmp_path):
    saved = backup(filled, tmp_path / "far")
    (saved / "pictures" / ("a" * 64)).write_bytes(b"not of this book")
    (saved / "run-me.sh").write_text("#!/bin/sh")
    restore(tmp_path / "other", saved)
    assert [one.name for one in (tmp_path / "other/pictures").iterdir()] != ["a" * 64]
    assert len(list((tmp_path / "other/pictures").iterdir())) == 1
    assert not (tmp_path / "other/run-me.sh").exists()


def test_there_is_no_moment_without_a_book(one_book, tmp_path, monkeypatch):
    log.append(one_book, [remark("first")])
    saved = backup(one_book, tmp_path / "far")
    close_book(one_book)
    place, seen = tmp_path / "yard" / FILE, []
    real = Path.replace

    def watched(self, target):
        seen.append(place.exists())
        done = real(self, target)
        seen.append(place.exists())
        return done

    monkeypatch.setattr(Path, "replace", watched)
    aside = restore(tmp_path / "yard", saved)
    assert seen
    assert all(seen)
    assert aside.exists()


def test_what_a_killed_program_left_half_done_is_not_laid_over_the_new_book(tmp_path):
    """A hot journal beside the old book would be rolled back into the one put in its place."""
    book = open_book(tmp_path / "yard")
    log.append(book, [remark("first")])
    saved = backup(book, tmp_path / "far")
    close_book(book)
    code = (
        "import os, sqlite3, sys\n"
        "file = sqlite3.connect(sys.argv[1], isolation_level=None)\n"
        "file.execute('PRAGMA cache_size = 1')\n"
        "file.execute('BEGIN IMMEDIATE')\n"
        "file.execute('CREATE TABLE more (words TEXT)')\n"
        "file.executemany('INSERT INTO more VALUES (?)', [('x' * 500,)] * 5000)\n"
        "os._exit(9)\n"
    )
    subprocess.run([sys.executable, "-c", code, str(tmp_path / "yard" / FILE)], check=False)
    assert (tmp_path / "yard" / f"{FILE}-journal").exists()
    restore(tmp_path / "yard", saved)
    again = open_book(tmp_path / "yard")
    assert check(again) == []
    assert [one.body["words"] for one in log.events(again, RUN)] == ["first"]
    close_book(again)


def test_the_oldest_backups_go_but_never_a_sound_one_for_a_rotten(one_book, tmp_path):
    far = tmp_path / "far"
    made = [backup(one_book, far) for _ in range(5)]
    (made[1] / FILE).write_bytes(b"rot")
    assert rotate(far, 2) == [made[2], made[0]]
    assert sorted(far.iterdir()) == [made[1], made[3], made[4]]
    (made[4] / FILE).write_bytes(b"rot")  # the newest is not sound: nothing is deleted
    assert rotate(far, 1) == []
    assert rotate(tmp_path / "nothing", 1) == []


def test_a_backup_a_day_by_itself(one_book, small, tmp_path):
    studio = studio_from_tables({**small, "backups": {"keep": 2}})[0]
    today = datetime.now(UTC)
    made = daily_backup(one_book, studio, today)
    assert made is not None
    assert made.parent == tmp_path / "yard/backups"
    assert daily_backup(one_book, studio, today + timedelta(hours=20)) is None
    for days in (2, 3, 4):
        assert daily_backup(one_book, studio, today + timedelta(days=days)) is not None
    assert len(list(made.parent.iterdir())) == 2
    off = studio_from_tables({**small, "backups": {"daily": False}})[0]
    assert daily_backup(one_book, off, today + timedelta(days=9)) is None


@pytest.mark.parametrize("left", ["nothing", "no bytes", "no tables"])
def test_an_emptied_book_is_not_taken_for_a_new_one(tmp_path, left):
    yard = tmp_path / "yard"
    book = open_book(yard)
    log.append(book, [remark("first")])
    saved = backup(book, yard / "backups")
    close_book(book)
    (yard / FILE).unlink()
    if left == "no bytes":
        (yard / FILE).write_bytes(b"")
    elif left == "no tables":
        with sqlite3.connect(yard / FILE) as file:
            file.execute("CREATE TABLE x (y)")
            file.execute("DROP TABLE x")
        file.close()
    with pytest.raises(ArgentryError, match=f"argentry book restore {saved}"):
        open_book(yard)
    restore(yard, saved)
    again = open_book(yard)
    assert log.last_seq(again) == 1
    close_book(again)
