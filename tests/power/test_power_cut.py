"""The power goes at any moment: no acknowledged event is lost, none is half there.

The book's own code runs over a disk that forgets what was not synced (disk.py). The power is cut
inside transactions and between them; what is left is opened by the standard library's SQLite, as
after a restart, and looked over whole. Weaker settings do lose events here, so the test can fail.
"""

import random
from datetime import UTC, datetime, timedelta
from pathlib import Path

from tests.counts import few
from tests.power.cuts import answered_before, cuts, restart, tally

from argentry.book import engine as engines
from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.engine import Book, close_book, sqlite_engine
from argentry.book.open import open_book
from argentry.book.readings import add_readings, series
from argentry.book.upgrade import upgrade
from argentry.records.event import Event
from argentry.records.ids import make_id
from argentry.records.plate import Reading

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
RUN = make_id(1, 0)
BATCHES = 60
CUTS = few(40, 120)  # of each day, a third of them just after an answer; `make chaos` goes to 900


def open_on(disks, disk):
    """Open a book whose file lies on a forgetful disk, by the book's own settings."""
    engine = sqlite_engine(Path("book.sqlite"), creator=lambda: disks.Driver(disk))
    book = Book(engine, "forgetful disk", None, "sqlite")
    upgrade(book)
    return book


def batches(chance, first=0):
    """Yield lists of one to four events; some are long enough to spread over pages."""
    place = first
    for _ in range(BATCHES):
        made = []
        for _ in range(chance.randint(1, 4)):
            place += 1
            words = "x" * chance.choice([3, 40, 400, 6000])
            at = NOON + timedelta(seconds=place)
            made.append(Event(make_id(place, place), RUN, "remark_made", at, body={"words": words}))
        yield made


def record(disks, setting="synchronous = EXTRA", journal="journal_mode = DELETE", seed=7):
    """Run a day at the bench on a disk and return it with all it did."""
    chance = random.Random(seed)
    disk = disks.Disk()
    book = open_on(disks, disk)
    disk.mark(())
    sent = list(batches(chance))
    for made in sent:
        log.append(book, made)
        disk.mark(item.id for item in made)
    close_book(book)
    return disk, sent


def with_setting(monkeypatch, **changes):
    changed = []
    for pragma in engines.PRAGMAS:
        name = pragma.split(" ")[0]
        changed.append(f"{name} = {changes.get(name, pragma.split(' = ')[1])}")
    monkeypatch.setattr(engines, "PRAGMAS", tuple(changed))


def cut(disk, sent, folder, count, seed=11):
    """Cut the power `count` times over one recorded day."""
    batches = [{item.id for item in made} for made in sent]
    return tally(
        disk, batches, count, seed, lambda n, files: restart(folder / f"{seed}-{n}", files)
    )


def test_the_books_setting_loses_nothing(disks, tmp_path):
    for seed in (7, 8):
        disk, sent = record(disks, seed=seed)
        found = cut(disk, sent, tmp_path, CUTS, seed)
        assert (found.cuts, found.lost, found.damaged, found.halves) == (CUTS, 0, 0, 0)


def test_the_drivers_own_setting_loses_events(disks, tmp_path, monkeypatch):
    """Control: a deleted journal may come back when its folder is not synced."""
    with_setting(monkeypatch, synchronous="FULL")
    disk, sent = record(disks)
    found = cut(disk, sent, tmp_path, CUTS)
    assert found.lost > 6
    assert found.damaged == 0


def test_without_syncs_events_are_lost_and_files_damaged(disks, tmp_path, monkeypatch):
    """Control: nothing is ever synced."""
    with_setting(monkeypatch, synchronous="OFF")
    disk, sent = record(disks)
    found = cut(disk, sent, tmp_path, CUTS // 2)
    assert found.lost > 5
    assert found.damaged > 5


def test_a_second_cut_while_the_first_is_being_mended_loses_nothing(disks, tmp_path):
    disk, _sent = record(disks)
    chance = random.Random(5)
    first = next(place for place, item in enumerate(disk.done) if item[0] == "answered")
    mended = 0
    for number in range(20):
        moment = chance.randint(first, len(disk.done))
        files = disks.left(disk, moment, chance, torn=number % 2 == 1)
        again = disks.Disk(files)
        book = open_on(disks, again)
        more = Event(make_id(99_999, number), RUN, "remark_made", NOON, body={"words": "again"})
        log.append(book, [more])
        again.mark([more.id])
        close_book(book)
        mended += any(name.endswith("-journal") for name in files)
        second = chance.randint(0, len(again.done))
        found = restart(
            tmp_path / f"cut{number}", disks.left(again, second, chance, torn=number % 3 == 1)
        )
        assert found is not None
        assert found[1] == []
        have = set(found[0])
        assert answered_before(disk, moment) | answered_before(again, second) <= have
    assert mended > 6, "too few cuts left a journal to be played back"


def test_readings_are_as_safe_as_events(disks, tmp_path):
    disk = disks.Disk()
    book = open_on(disks, disk)
    disk.mark(())
    for place in range(1, 40):
        one = Reading(make_id(place, 5), "box_c", float(place), "°C", NOON, "thermometer")
        add_readings(book, [one])
        disk.mark([one.id])
    close_book(book)
    chance = random.Random(3)
    for number, moment in enumerate(cuts(disk, chance, CUTS)):
        folder = tmp_path / f"cut{number}"
        folder.mkdir()
        for name, content in disks.left(disk, moment, chance, torn=True).items():
            (folder / name).write_bytes(content)
        after = open_book(folder)
        have = {item.id for item in series(after, "box_c", NOON, NOON)}
        close_book(after)
        assert answered_before(disk, moment) <= have


def test_everything_sent_again_after_a_cut_is_there_once(disks, tmp_path):
    disk, sent = record(disks)
    chance = random.Random(2)
    every = [item for made in sent for item in made]
    for number in range(5):
        folder = tmp_path / f"cut{number}"
        folder.mkdir()
        moment = chance.randint(len(disk.done) // 3, len(disk.done))
        for name, content in disks.left(disk, moment, chance, torn=True).items():
            (folder / name).write_bytes(content)
        book = open_book(folder)
        log.append(book, every)
        assert [item.id for item in log.events(book, RUN)] == [item.id for item in every]
        assert check(book) == []
        close_book(book)
