"""The book's storage with 20,000 plates and 2 million readings: append, reads, backup, memory."""

import os
import resource
import shutil
import sqlite3
import tempfile
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from benchmarks.server import PLATES, READINGS, build

APPENDS = 300
PLATES_A_RUN = 3


def _p95(values: list[float]) -> float:
    return sorted(values)[int(0.95 * (len(values) - 1))]


def _middle(values: list[float]) -> float:
    return sorted(values)[len(values) // 2]


def _timed(work, repeats: int) -> list[float]:
    """Return the milliseconds of each repeat."""
    taken = []
    for _ in range(repeats):
        began = time.perf_counter()
        work()
        taken.append(1000 * (time.perf_counter() - began))
    return taken


class Bare:
    """What any durable store must pay: one page and fsync; one row in bare SQLite."""

    def __init__(self, folder: Path) -> None:
        self.page = os.open(folder / "page", os.O_CREAT | os.O_RDWR)
        self.rows = sqlite3.connect(folder / "rows.sqlite", isolation_level=None)
        self.rows.executescript(
            "PRAGMA journal_mode=DELETE; PRAGMA synchronous=EXTRA;"
            "CREATE TABLE row (number INTEGER PRIMARY KEY, body TEXT) STRICT"
        )

    def fsync(self) -> None:
        os.pwrite(self.page, os.urandom(4096), 0)
        os.fsync(self.page)

    def commit(self) -> None:
        self.rows.execute("BEGIN IMMEDIATE")
        self.rows.execute("INSERT INTO row (body) VALUES (?)", ("x" * 400,))
        self.rows.execute("COMMIT")

    def close(self) -> None:
        os.close(self.page)
        self.rows.close()


def _appends(book, folder: Path) -> list[tuple[str, str]]:
    from argentry.book import log
    from argentry.book.readings import add_readings
    from argentry.records.event import Event
    from argentry.records.ids import new_id
    from argentry.records.plate import Reading

    run, bare = new_id(), Bare(folder)
    fsyncs, commits, events, readings = [], [], [], []
    for _ in range(APPENDS):  # in turn, so that each meets the same moments of the disk
        now = datetime.now(UTC)
        remark = Event(new_id(), run, "remark_made", now, body={"words": "x" * 200})
        reading = Reading(new_id(), "room_c", 18.0, "°C", now, "thermometer")
        fsyncs += _timed(bare.fsync, 1)
        commits += _timed(bare.commit, 1)
        events += _timed(lambda one=remark: log.append(book, [one]), 1)
        readings += _timed(lambda one=reading: add_readings(book, [one]), 1)
    bare.close()
    rows = []
    for what, taken in (("event appended (p95 limit 20 ms)", events), ("reading added", readings)):
        p95, fsync, commit = _p95(taken), _p95(fsyncs), _p95(commits)
        figure = (
            f"p95 {p95:.1f} ms, median {_middle(taken):.1f} ms; "
            f"p95 {p95 / fsync:.1f} times a bare fsync ({fsync:.2f} ms), "
            f"{p95 / commit:.1f} times a bare SQLite commit at the same setting ({commit:.2f} ms)"
        )
        rows.append((what, figure))
    return rows


def _reads(book) -> list[tuple[str, str]]:
    from argentry.book.log import append, events
    from argentry.book.plates import makings, plate_by_label
    from argentry.book.readings import latest, series
    from argentry.book.runs.fold import fold
    from argentry.records.event import Event
    from argentry.records.ids import new_id

    run, now = new_id(), datetime.now(UTC)
    steps = [{"key": f"step{i}", "title": "Step", "planned_s": 60.0} for i in range(20)]
    labels = [{"id": f"p{i}", "label": f"P{i}"} for i in range(PLATES_A_RUN)]
    made = [Event(new_id(), run, "run_opened", now, body={"plates": labels, "steps": steps})]
    for step in steps:
        for label in labels:
            at = now + timedelta(seconds=len(made))
            of = {"plate": label["id"], "step": step["key"]}
            made.append(Event(new_id(), run, "step_begun", at, **of))
            made.append(Event(new_id(), run, "step_ended", at + timedelta(seconds=0.5), **of))
    append(book, made)
    room = "SELECT * FROM reading WHERE what = 'room_c'"
    graded = "FROM making LEFT JOIN grade ON grade.making = making.id"
    day = int((now - timedelta(days=1)).timestamp() * 1e6)
    found = {
        f"state of a run of {len(made)} events, read and folded": (
            lambda: fold(events(book, run), now=now),
            f"SELECT * FROM event WHERE run = '{run}' ORDER BY seq",
            50,
        ),
        "latest reading of a quantity": (
            lambda: latest(book, "room_c"),
            f"{room} ORDER BY at_us DESC LIMIT 1",
            50,
        ),
        "readings of one day": (
            lambda: series(book, "room_c", now - timedelta(days=1), now),
            f"{room} AND at_us >= {day} ORDER BY at_us",
            20,
        ),
        "one plate by its label": (
            lambda: plate_by_label(book, "P00042"),
            "SELECT * FROM plate WHERE label = 'P00042'",
            50,
        ),
        f"all {PLATES} makings with their grades": (
            lambda: makings(book),
            f"SELECT making.*, grade.grade {graded} ORDER BY day, session, place",
            3,
        ),
    }
    rows, file = [], sqlite3.connect(book.folder / "book.sqlite")
    for what, (work, sql, repeats) in found.items():
        taken = _timed(work, repeats)
        bare = _timed(lambda asked=sql: file.execute(asked).fetchall(), repeats)
        figure = f"{_p95(taken) / _p95(bare):.0f} times the same rows by bare SQLite"
        rows.append((what, f"p95 {_p95(taken):.1f} ms, {figure} ({_p95(bare):.2f} ms)"))
    file.close()
    return rows


def _whole(book, folder: Path) -> list[tuple[str, str]]:
    from argentry.book.care.backup import backup
    from argentry.book.care.doctor import check
    from argentry.book.engine import close_book
    from argentry.book.open import open_book

    copy = _timed(lambda: shutil.copyfile(book.folder / "book.sqlite", folder / "copy"), 3)
    found = {
        "opened with its quick check": _timed(lambda: close_book(open_book(book.folder)), 3),
        "opened without": _timed(lambda: close_book(open_book(book.folder, quick=False)), 3),
        "backup, with checksums and its own check": _timed(lambda: backup(book, folder / "b"), 1),
        "looked over whole (book check)": _timed(lambda: check(book), 1),
    }
    rows = []
    for what, taken in found.items():
        ratio = f"{_middle(taken) / _middle(copy):.1f} times a bare copy of the file"
        rows.append((what, f"{_middle(taken):.0f} ms, {ratio} ({_middle(copy):.0f} ms)"))
    return rows


def run() -> list[tuple[str, str]]:
    from argentry.book.engine import close_book
    from argentry.book.open import open_book

    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        studio = folder / "studio"
        studio.mkdir()
        built = build(studio)
        size = (studio / "book.sqlite").stat().st_size / 2**20
        book = open_book(studio)
        rows = [(f"book of {PLATES} plates, {READINGS} readings", f"{size:.0f} MB, {built:.0f} s")]
        rows += _appends(book, folder)
        rows += _reads(book)
        before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        rows += _whole(book, folder)
        after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
        rows.append(("peak memory", f"{before:.0f} MB; {after:.0f} MB after backup and check"))
        close_book(book)
    return rows
