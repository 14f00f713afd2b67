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
    assert wrong[0] == "the trigger event_kept_update is missing."
    assert len(wrong) == doctor.FEW + 2
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
    assert doctor.check(book) == [
        f"the trigger {drop.split(' ', maxsplit=1)[0]} is missing.",
        "rows of reading are missing: there is none in place 2.",
    ]


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


@pytest.fixture
def rich(tmp_path):
    """A SQLite book with a row in every table that a maker fills."""
    from datetime import date

    from argentry.book.baths import add_bath
    from argentry.book.devices import add_device
    from argentry.book.lots import add_lots
    from argentry.book.materials.notes import add_notes
    from argentry.book.pictures.kept import add_picture
    from argentry.book.plates import add_making, add_plate, add_work
    from argentry.book.readings import add_readings
    from argentry.records.material import LOT, Bath, Lot, MaterialNote
    from argentry.records.plate import Making, Plate, Reading
    from argentry.records.plate_record import PlateWork

    book = open_book(tmp_path)
    plate = Plate(new_id(), "A 1", silver_um=3.3, remark="first of all")
    add_plate(book, plate)
    made = Making(
        new_id(), plate.id, None, "s", 1, date(2026, 6, 21), grade="fine", verdict="right",
        stages={"coat": "ok"}, defects=(("veil", "coat"),), remark="soft",
    )  # fmt: skip
    add_making(book, made)
    add_work(book, PlateWork(new_id(), plate.id, "polished", NOON, "Ana", "rouge"))
    add_readings(book, [Reading(new_id(), "room_c", 18.25, "°C", NOON, "M")])
    add_bath(book, Bath(new_id(), "Fixer", "fixer", NOON, 500.0, 3, 270.0))
    lot = Lot(new_id(), "Iodine", 100.0, "g", "Shop", date(2026, 1, 1), 2.0)
    add_lots(book, [lot])
    add_notes(book, [MaterialNote(LOT, lot.id, "price", "45.5", NOON)])
    add_picture(book, plate.id, "coat", NOON, b"\xff\xd8\xff" + bytes(1000))
    add_device(book, "tablet", "bench", "a" * 64, NOON)
    run = new_id()
    log.append(
        book, [Event(new_id(), run, "remark_made", NOON, body={"words": f"w{n}"}) for n in range(9)]
    )
    yield book
    close_book(book)


def foreign(book, *statements):
    """Change the file as another program would, its triggers out of the way for a moment."""
    import sqlite3

    with sqlite3.connect(book.folder / "book.sqlite") as file:
        triggers = file.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
        triggers = triggers.fetchall()
        for name, _ in triggers:
            file.execute(f"DROP TRIGGER {name}")
        for one in statements:
            file.execute(one)
        for _, sql in triggers:
            file.execute(sql)
    file.close()


@pytest.mark.parametrize(
    ("table", "change"),
    [
        ("grade", "grade = 'good'"),
        ("verdict", "verdict = 'over'"),
        ("stage", "state = 'fault'"),
        ("defect", "step = 'expose'"),
        ("making", "remark = 'softer'"),
        ("plate", "silver_um = 3.4"),
        ("plate_work", "who = 'Eva'"),
        ("reading", "value = 18.5"),
        ("bath", "volume_ml = 501"),
        ("bath_use", "plates = 4"),
        ("lot", "supplier = 'Shup'"),
        ("lot_use", "amount = 3.0"),
        ("material_note", "value = '2.0'"),
        ("photograph", "kind = 'coax'"),
        ("device", "name = 'tabled'"),
        ("event", 'body = \'{"words":"v0"}\''),
        ("event", "salt = iif(salt LIKE 'b%', 'c', 'b') || substr(salt, 2)"),
        ("event", "device = 'me'"),
    ],
)
def test_one_changed_value_of_any_table_is_named(rich, table, change):
    assert doctor.check(rich) == []
    foreign(rich, f"UPDATE {table} SET {change} WHERE rowid = 1")
    (wrong,) = doctor.check(rich)
    assert wrong.startswith(f"{table} ")
    assert wrong.endswith("was changed after it was written.")


def test_rot_that_is_no_text_is_named_and_ends_nothing(rich):
    for table, column in (("plate", "remark"), ("event", "body"), ("grade", "who")):
        foreign(rich, f"UPDATE {table} SET {column} = CAST(x'c3' AS TEXT) WHERE rowid = 1")
    wrong = doctor.check(rich)
    assert [one.split(" ")[0] for one in wrong] == ["event", "plate", "grade"]


def test_a_table_that_cannot_be_walked_to_its_end_is_named_with_the_row_before(rich, monkeypatch):
    walked = doctor._Walk.step

    def step(walk, row):
        if walk.name == "event" and walk.key:
            raise OverflowError("a number larger than its column")
        walked(walk, row)

    monkeypatch.setattr(doctor._Walk, "step", step)
    (told,) = (one for one in doctor.check(rich) if "cannot be read" in one)
    assert told.startswith("event after ")


def test_what_another_program_wrote_is_named_also_after_argentry_wrote_again(rich):
    foreign(rich, "UPDATE plate SET remark = 'x', sum = ''")
    log.append(rich, [Event(new_id(), new_id(), "remark_made", NOON, body={"words": "x"})])
    (wrong,) = doctor.check(rich)
    assert "was written by another program" in wrong


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("DROP TRIGGER grade_kept_delete", "the trigger grade_kept_delete is missing."),
        ("DROP INDEX making_day_index", "the index making_day_index is missing."),
        ("CREATE TABLE notes (words TEXT)", "the table notes is not one of argentry's."),
        ("PRAGMA user_version = 3", "user_version 3"),
        (
            "CREATE TRIGGER more AFTER INSERT ON event BEGIN DELETE FROM lot; END",
            "the trigger more is not one of argentry's.",
        ),
    ],
)
def test_tables_and_triggers_are_looked_at(rich, change, told):
    with rich.engine.connect() as connection:
        connection.exec_driver_sql(change)
        connection.commit()
    (wrong,) = doctor.check(rich)
    assert told in wrong


def test_a_change_through_the_book_keeps_its_sums(book):
    from argentry.book.baths import add_bath, baths, discard_bath
    from argentry.book.devices import add_device, note_seen
    from argentry.book.plates import add_plate, rename
    from argentry.records.material import Bath
    from argentry.records.plate import Plate

    plate = Plate(new_id(), "A 1")
    add_plate(book, plate)
    rename(book, plate.id, "B 1", "Ana", NOON)
    add_bath(book, Bath(new_id(), "Fixer", "fixer", NOON, 500.0))
    discard_bath(book, baths(book)[0].id, NOON)
    made = add_device(book, "tablet", "bench", "a" * 64, NOON)
    note_seen(book, made.id, NOON)
    assert doctor.check(book) == []
