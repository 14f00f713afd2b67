"""The archive: out, into an empty book, out again: the same bytes; on and across both stores."""

import importlib.util
import json
import os
import shutil
import threading
from pathlib import Path

import pytest

from argentry.book import tables
from argentry.book.baths import baths
from argentry.book.engine import close_book
from argentry.book.log import events, runs
from argentry.book.lots import lots
from argentry.book.open import open_book
from argentry.book.pictures.judged import judged
from argentry.book.pictures.kept import picture_file, pictures
from argentry.book.plates import add_plate, makings, plates, works
from argentry.book.readings import series
from argentry.errors import ArgentryError, BadInput
from argentry.exchange.archive import rows as archive_rows
from argentry.exchange.archive.archive import check_archive, export_book, import_archive
from argentry.exchange.archive.bag import seal_bag
from argentry.exchange.archive.rows import ARCHIVED, LEFT_OUT
from argentry.exchange.plates.table import read_plate_table
from argentry.records.plate import Plate

_spec = importlib.util.spec_from_file_location(
    "archive_book", Path(__file__).parent / "archive_book.py"
)
archive_book = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(archive_book)


def all_of(book):
    noon = archive_book.NOON
    return (
        plates(book),
        works(book),
        makings(book),
        runs(book),
        events(book, "run"),
        series(book, "room_c", noon, noon),
        baths(book),
        lots(book),
        pictures(book),
        [one for plate in plates(book) for one in judged(book, plate.id)],
    )


def files(folder):
    data = folder / "data"
    return {
        path.relative_to(data).as_posix(): path.read_bytes()
        for path in sorted(data.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(params=["sqlite", "postgresql"])
def other(request, tmp_path):
    """A second, empty book on each store."""
    folder = tmp_path / "other"
    folder.mkdir()
    where, server = folder, None
    if request.param == "postgresql":
        server = request.getfixturevalue("postgres")
        where = server.database()
    opened = open_book(where, folder=folder)
    yield opened
    close_book(opened)
    if server:
        server.drop(where)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """An archive of the invented book, never changed."""
    folder = tmp_path_factory.mktemp("written")
    book = open_book(folder)
    archive_book.fill(book)
    export_book(book, folder / "bag")
    close_book(book)
    return folder / "bag"


@pytest.fixture
def bag(written, tmp_path):
    """A copy to be spoilt."""
    return Path(shutil.copytree(written, tmp_path / "bag"))


@pytest.fixture
def empty(tmp_path):
    folder = tmp_path / "empty"
    folder.mkdir()
    book = open_book(folder)
    yield book
    close_book(book)


def test_out_in_and_out_again(book, other, tmp_path, monkeypatch):
    monkeypatch.setattr(archive_rows, "PAGE", 7)  # several pages
    archive_book.fill(book)
    made = export_book(book, tmp_path / "first")
    assert made.rows["event"] == 23
    assert made.pictures == 1
    read = import_archive(other, tmp_path / "first")
    assert read.rows == made.rows
    assert all_of(other) == all_of(book)
    export_book(other, tmp_path / "second")
    first, second = files(tmp_path / "first"), files(tmp_path / "second")
    assert first == second
    assert len(first) == len(ARCHIVED) + 3  # and README, the table, a picture
    assert picture_file(other, pictures(other)[0].sha256).read_bytes() == archive_book.PICTURE


def test_import_of_what_is_there_changes_nothing(book, tmp_path):
    archive_book.fill(book)
    export_book(book, tmp_path / "bag")
    assert import_archive(book, tmp_path / "bag").known
    add_plate(book, Plate(archive_book.some_id(900), "new"))
    with pytest.raises(BadInput, match="the book holds other records already"):
        import_archive(book, tmp_path / "bag")


def test_every_table_is_archived_or_left_out_on_purpose():
    assert set(ARCHIVED) | set(LEFT_OUT) == set(tables.metadata.tables)
    for i, name in enumerate(ARCHIVED):
        for key in tables.metadata.tables[name].foreign_keys:
            assert ARCHIVED.index(key.column.table.name) < i  # what a row points to comes before


def test_lines_are_plain_sorted_json(written):
    for path in (written / "data" / "records").iterdir():
        for line in path.read_bytes().decode().split("\n")[:-1]:
            row = json.loads(line)
            again = json.dumps(row, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
            assert line == again


def test_the_table_inside_reads_back_and_runs_no_formula(written):
    text = (written / "data" / "plates.csv").read_text(encoding="utf-8")
    assert "'=1+1" in text
    assert "'=lot 7" in text
    assert ",=" not in text
    made = read_plate_table(written / "data" / "plates.csv")
    assert made.problems == ()
    assert made.rows[0].plate.silver_source == "=lot 7"
    assert made.rows[0].making.conditions["moon"] == "=1+1"
    assert made.rows[0].making.defects == (("fog", "development"), ("bubbles", "finish"))


def test_devices_stay_at_home(written):
    assert not (written / "data" / "records" / "device.jsonl").exists()


def test_a_bench_may_write_while_the_book_is_exported(tmp_path, monkeypatch):
    monkeypatch.setattr(archive_rows, "PAGE", 10)
    folder = tmp_path / "home"
    folder.mkdir()
    book = open_book(folder)
    archive_book.fill(book)
    stop = threading.Event()
    failed = []

    def write():
        number = 1000
        try:
            while not stop.wait(0.02):
                number += 1
                add_plate(book, Plate(archive_book.some_id(number), f"w{number}"))
        except ArgentryError as error:
            failed.append(error)

    writer = threading.Thread(target=write)
    writer.start()
    for i in range(3):
        export_book(book, tmp_path / f"bag{i}")
    stop.set()
    writer.join()
    close_book(book)
    assert not failed
    for i in range(3):
        place = tmp_path / f"in{i}"
        place.mkdir()
        target = open_book(place)
        import_archive(target, tmp_path / f"bag{i}")
        close_book(target)


def test_export_never_writes_over_anything(book, tmp_path):
    taken = tmp_path / "taken"
    taken.mkdir()
    (taken / "mine.txt").write_text("mine")
    with pytest.raises(BadInput, match="there is something there already"):
        export_book(book, taken)
    assert [path.name for path in taken.iterdir()] == ["mine.txt"]
    (tmp_path / "file").write_text("mine")
    with pytest.raises(BadInput, match="there is something there already"):
        export_book(book, tmp_path / "file")


def test_a_failed_export_leaves_nothing_half_made(empty, tmp_path):
    archive_book.fill(empty)
    picture_file(empty, pictures(empty)[0].sha256).write_bytes(b"\xff\xd8\xff other")
    with pytest.raises(ArgentryError, match="it is damaged; restore a backup"):
        export_book(empty, tmp_path / "bag")
    picture_file(empty, pictures(empty)[0].sha256).unlink()
    with pytest.raises(ArgentryError, match="it is missing; restore a backup"):
        export_book(empty, tmp_path / "bag")
    assert not (tmp_path / "bag").exists()
    assert not list(tmp_path.glob(".bag*"))


def test_a_place_that_cannot_be_written(empty, tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(ArgentryError, match="the archive cannot be written"):
        export_book(empty, tmp_path / "file" / "bag")


def change_line(bag, name, number, **values):
    """Change one row of an archive and seal it again, as a forger would."""
    path = bag / "data" / "records" / f"{name}.jsonl"
    lines = path.read_bytes().decode().split("\n")
    row = json.loads(lines[number]) | values
    lines[number] = json.dumps(row, ensure_ascii=False)
    path.write_bytes("\n".join(lines).encode())
    reseal(bag)


def reseal(bag, form="3"):
    seal_bag(bag, [("Argentry-Archive-Form", form)])


def write_records(name, text):
    def spoil(bag):
        (bag / "data" / "records" / f"{name}.jsonl").write_text(text, encoding="utf-8")
        reseal(bag)

    return spoil


def spoilt(name, number=0, **values):
    return lambda bag: change_line(bag, name, number, **values)


def rename_picture(bag):
    path = next((bag / "data" / "pictures").iterdir())
    path.rename(path.with_name("0" * 64))
    reseal(bag)


def picture_is_a_page(bag):
    path = next((bag / "data" / "pictures").iterdir())
    path.unlink()
    content = b"<script>alert(1)</script>"
    import hashlib

    name = hashlib.sha256(content).hexdigest()
    (path.parent / name).write_bytes(content)
    change_line(bag, "photograph", 0, sha256=name, media_type="text/html", bytes=len(content))


def no_picture(bag):
    shutil.rmtree(bag / "data" / "pictures")
    reseal(bag)


def swap_readings(bag):
    path = bag / "data" / "records" / "reading.jsonl"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join([lines[1], lines[0], *lines[2:]]) + "\n", encoding="utf-8")
    reseal(bag)


def drop_an_event(bag):
    path = bag / "data" / "records" / "event.jsonl"
    lines = path.read_bytes().decode().split("\n")
    path.write_bytes("\n".join(lines[:3] + lines[4:]).encode())
    reseal(bag)


def drop_plates(bag):
    (bag / "data" / "records" / "plate.jsonl").write_text("")
    reseal(bag)


def lose_a_table(bag):
    (bag / "data" / "records" / "lot.jsonl").unlink()
    reseal(bag)


def add_a_table(bag):
    (bag / "data" / "records" / "device.jsonl").write_text("{}\n")
    reseal(bag)


@pytest.mark.parametrize(
    ("spoil", "match"),
    [
        (lambda bag: reseal(bag, "9"), "its form '9' is not supported"),
        (lambda bag: seal_bag(bag, []), "it is not an archive of a book"),
        (lose_a_table, "'data/records/lot.jsonl' is missing"),
        (add_a_table, "'data/records/device.jsonl' is not a known table"),
        (write_records("plate", "not json\n"), "plate.jsonl line 1: the line is not JSON"),
        (write_records("plate", "[]\n"), "does not have the columns of plate"),
        (write_records("plate", "[" * 100_000), "the line is not JSON"),
        (write_records("plate", '{"id":NaN}\n'), "the line is not JSON"),
        (write_records("plate", "x" * 4_000_001), "the line is too long"),
        (spoilt("plate", label=5), "label: it is not text"),
        (spoilt("plate", label=None), "label: it is empty"),
        (spoilt("plate", label="a\0b"), "holds a character that cannot be shown"),
        (spoilt("plate", extra=1), "does not have the columns of plate"),
        (spoilt("plate", times_repolished=1.5), "times_repolished: it is not a whole number"),
        (spoilt("plate", times_repolished=True), "times_repolished: it is not a whole number"),
        (spoilt("plate", times_repolished=1 << 70), "times_repolished: it is not a whole number"),
        (spoilt("plate", silver_um="12"), "silver_um: it is not a number"),
        (spoilt("plate", silver_um=1e308), "silver_um: it is not a number"),
        (spoilt("plate", made_on="1.5.2026"), "made_on: '1.5.2026' is not a day"),
        (spoilt("making", conditions=[]), "conditions: it is not a JSON object"),
        (spoilt("making", conditions={"a": [1]}), "one is neither number nor text"),
        (spoilt("making", day="2026-6-21"), "day: '2026-6-21' is not a day"),
        (spoilt("making", plate="nowhere"), "a row points nowhere or is there twice"),
        (spoilt("grade", grade="best"), "grade: 'best' is not known"),
        (spoilt("grade", at_us=1 << 62), "at_us: the time is outside the calendar"),
        (spoilt("stage", stage="drying"), "stage: 'drying' is not known"),
        (spoilt("event", 3, body={"words": "never said"}), "the log was changed at or before"),
        (spoilt("event", kind="hacked"), "kind: 'hacked' is not known"),
        (spoilt("event", id="x" * 36), "it is not a known event"),
        (spoilt("event", version=2), "it is not a known event"),
        (drop_an_event, "its place is 5, not 4"),
        (drop_plates, "a row points nowhere or is there twice"),
        (swap_readings, "its place is 2, not 1"),
        (spoilt("photograph", media_type="text/html"), "media_type: 'text/html' is not known"),
        (spoilt("photograph", bytes=3), "its picture is not in the archive as it says"),
        (spoilt("photograph", carries="all"), "carries: 'all' is not known"),
        (spoilt("photograph", taken_from="me"), "taken_from: 'me' is not known"),
        (spoilt("photograph", said=[]), "said: it is not a JSON object"),
        (spoilt("judgement", answer="gold"), "answer: it is not a JSON object"),
        (spoilt("judgement", picture="0" * 64), "a row points nowhere or is there twice"),
        (spoilt("judgement", confirmed_us=1 << 62), "confirmed_us: the time is outside"),
        (no_picture, "its picture is not in the archive as it says"),
        (rename_picture, "is not named by its hash"),
        (picture_is_a_page, "is not a picture, or is too large"),
    ],
)
def test_a_forged_archive_is_refused_and_nothing_goes_in(bag, empty, spoil, match):
    spoil(bag)
    with pytest.raises(BadInput, match=match) as told:
        import_archive(empty, bag)
    assert "\n" not in str(told.value)
    assert plates(empty) == []
    assert runs(empty) == []


def test_check_without_a_book(bag):
    assert check_archive(bag).rows["event"] == 23
    change_line(bag, "event", 3, body={"words": "never said"})
    with pytest.raises(BadInput, match="the log was changed"):
        check_archive(bag)


def test_progress_is_told(bag, empty):
    told = []
    import_archive(empty, bag, progress=lambda *pair: told.append(pair))
    assert all(done <= total for done, total in told)
    done = [pair for pair in told if pair[0] == pair[1]]
    assert done


def test_no_room_for_pictures(bag, tmp_path, empty):
    (Path(empty.folder) / "pictures").write_text("in the way")
    with pytest.raises(ArgentryError, match="pictures cannot be kept"):
        import_archive(empty, bag)
    assert plates(empty) == []


def test_names_of_the_bag_do_not_depend_on_the_place(written, tmp_path):
    info = (written / "bag-info.txt").read_text()
    assert str(tmp_path) not in info
    assert os.sep + "tmp" not in info
