"""What is sound of a damaged book comes into a new one, and the rest is named."""

from __future__ import annotations

import random
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from hashlib import sha256
from types import SimpleNamespace

import pytest
from benchmarks.chaos.pages import map_of
from tests.bench_studio import Table, studio
from tests.counts import few

from argentry.book import log, tables
from argentry.book.baths import add_bath
from argentry.book.care.damaged import PAGE, read_file
from argentry.book.care.doctor import check
from argentry.book.care.salvage import (
    LOST,
    _bring_pictures,
    _events,
    _numbered,
    _stand_ins,
    salvage,
)
from argentry.book.engine import close_book, reading, writing
from argentry.book.hold import FILE
from argentry.book.lots import add_lots
from argentry.book.open import open_book
from argentry.book.pictures.kept import add_picture
from argentry.book.plates import add_making, add_plate, makings, plates
from argentry.book.readings import add_readings
from argentry.errors import BadInput
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.material import Bath, Lot
from argentry.records.plate import Making, Plate, Reading

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def filled(folder):
    """Make a book of some hundred rows, with a run of two plates."""
    book = open_book(folder)
    table = Table(book, studio())
    table.open("Q-1", "Q-2")
    table.cautions()
    table.up_to("expose")
    for n in range(30):
        plate = Plate(new_id(), f"A {n}", silver_um=3.0 + n / 100, remark=f"plate {n}")
        add_plate(book, plate)
        add_making(
            book, Making(new_id(), plate.id, None, "s", n + 1, date(2026, 6, 1), grade="fine")
        )
    add_readings(book, [Reading(new_id(), "room_c", 18.0 + n, "°C", NOON, "M") for n in range(40)])
    for n in range(5):
        add_bath(book, Bath(new_id(), f"Fixer {n}", "fixer", NOON, 500.0, 3, 270.0))
        add_lots(book, [Lot(new_id(), f"Iodine {n}", 100.0, "g", "Shop", date(2026, 1, 1), 2.0)])
    add_picture(book, plates(book)[0].id, "coat", NOON, b"\xff\xd8\xff" + bytes(1000))
    run = new_id()
    log.append(
        book,
        [Event(new_id(), run, "remark_made", NOON, body={"words": f"w{n}"}) for n in range(60)],
    )
    return book


def rows(book):
    """Return table to key to row, without the chain, which a salvaged log lays again."""
    out = {}
    with reading(book) as connection:
        for name, table in tables.metadata.tables.items():
            keys = table.primary_key.columns.keys()
            found = connection.execute(table.select()).mappings().all()
            out[name] = {
                tuple(row[k] for k in keys): {k: v for k, v in row.items() if k != "chain"}
                for row in found
            }
    return out


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    book = filled(folder)
    kept = rows(book)
    close_book(book)
    return folder, (folder / FILE).read_bytes(), kept


def damaged(whole, folder, content):
    folder.mkdir()
    (folder / FILE).write_bytes(content)
    (folder / "pictures").symlink_to(whole[0] / "pictures")
    return folder


def by_value(kept, name):
    """Return rows without their place, which may move, as a sorted list."""
    drop = {"seq", "sum"} if name != "event" else set()
    return sorted(
        repr(sorted((k, v) for k, v in row.items() if k not in drop)) for row in kept[name].values()
    )


def test_a_sound_book_comes_over_whole(whole, tmp_path):
    done = salvage(damaged(whole, tmp_path / "old", whole[1]), tmp_path / "new")
    assert done.lost == ()
    book = open_book(tmp_path / "new")
    assert check(book) == []
    assert rows(book) == whole[2]
    close_book(book)


def test_one_rotten_row_is_named_and_every_other_comes_over(whole, tmp_path):
    content = whole[1]
    assert content.count(b"plate 7") == 1
    folder = damaged(whole, tmp_path / "old", content.replace(b"plate 7", b"plate\xff7"))
    done = salvage(folder, tmp_path / "new")
    assert len(done.lost) == 2  # the row, and the plate that stands in for it
    assert done.lost[0].startswith("plate ")
    assert "empty one stands in its place" in done.lost[1]
    book = open_book(tmp_path / "new")
    assert check(book) == []
    for name in tables.metadata.tables:
        if name != "plate":
            assert by_value(rows(book), name) == by_value(whole[2], name), name
    assert len(plates(book)) == len(whole[2]["plate"])
    close_book(book)


def test_a_table_of_which_no_page_leads_on_is_one_fault(whole, tmp_path):
    """Not one for each number that a row might have had."""
    with closing(sqlite3.connect(whole[0] / FILE)) as raw:
        asked = "SELECT rootpage FROM sqlite_master WHERE tbl_name = 'lot_use'"  # and its indexes
        pages = [page for (page,) in raw.execute(asked)]
    content = bytearray(whole[1])
    for page in pages:
        content[(page - 1) * PAGE : page * PAGE] = b"\xaa" * PAGE
    done = salvage(damaged(whole, tmp_path / "old", bytes(content)), tmp_path / "new")
    assert done.lost == ("lot_use 1 and after cannot be read.",)


def test_a_rotten_number_of_a_row_hides_no_other_row(whole, tmp_path):
    """The byte that says which row of its table a row is: what is sought by number is not found."""
    shape = map_of(whole[0] / FILE)
    page = max(shape.of["plate"], key=lambda one: len(shape.rows.get(one, ())))
    low, _, row = shape.rows[page][4]
    place = (page - 1) * PAGE + low + 2  # behind the two bytes of its length
    assert whole[1][place] == row < 40
    content = bytearray(whole[1])
    content[place] = 0x7F
    done = salvage(damaged(whole, tmp_path / "old", bytes(content)), tmp_path / "new")
    book = open_book(tmp_path / "new")
    assert check(book) == []
    assert done.lost == ()  # the number is not one of its columns: even that row is sound
    assert rows(book) == whole[2]
    close_book(book)


@pytest.mark.parametrize("value", [0, 5, 60, 255])
def test_a_rotten_length_of_a_row_takes_no_other_row_with_it(whole, tmp_path, value):
    shape = map_of(whole[0] / FILE)
    page = max(shape.of["plate"], key=lambda one: len(shape.rows.get(one, ())))
    content = bytearray(whole[1])
    content[(page - 1) * PAGE + shape.rows[page][4][0]] = value
    (tmp_path / FILE).write_bytes(content)
    read = read_file(tmp_path / FILE, tmp_path)
    there = {row["id"] for row in read.rows["plate"]}
    assert len({key for (key,) in whole[2]["plate"]} - there) == 1
    assert any(line.startswith("plate ") for line in read.lost)


def test_a_lost_event_leaves_a_mark_in_its_place(whole, tmp_path):
    content = whole[1]
    assert content.count(b'{"words":"w30"}') == 1
    folder = damaged(whole, tmp_path / "old", content.replace(b'"w30"', b'"w3X"'))
    done = salvage(folder, tmp_path / "new")
    assert len(done.lost) == 2
    book = open_book(tmp_path / "new")
    assert check(book) == []
    was, now = whole[2]["event"], rows(book)["event"]
    assert now.keys() == was.keys()
    (other,) = (key for key in was if was[key] != now[key])
    assert now[other]["kind"] == "event_lost"
    close_book(book)


def test_a_making_of_the_bench_comes_back_from_the_log(whole, tmp_path):
    folder = damaged(whole, tmp_path / "old", whole[1])
    with sqlite3.connect(folder / FILE) as file:
        file.execute("UPDATE making SET sum = 'x' WHERE run IS NOT NULL")
    file.close()
    salvage(folder, tmp_path / "new")
    book = open_book(tmp_path / "new")
    assert check(book) == []
    assert rows(book)["making"] == whole[2]["making"]
    assert len(makings(book)) == len(whole[2]["making"])
    close_book(book)


@pytest.mark.parametrize("seed", range(few(8, 20)))
def test_rot_anywhere_is_named_or_unused_and_every_untouched_row_is_saved(whole, tmp_path, seed):
    """A byte anywhere is flipped, or a page zeroed: what reads as it did is brought back."""
    random_ = random.Random(seed)
    content = bytearray(whole[1])
    if seed % 4 == 3:
        page = random_.randrange(1, len(content) // PAGE)
        content[page * PAGE : (page + 1) * PAGE] = bytes(PAGE)
    else:
        place = random_.randrange(PAGE, len(content))
        content[place] ^= 1 << random_.randrange(8)
    folder = damaged(whole, tmp_path / "old", bytes(content))
    done = salvage(folder, tmp_path / "new")
    book = open_book(tmp_path / "new")
    assert check(book) == []
    saved = rows(book)
    close_book(book)
    if not done.lost:
        assert saved == whole[2]
    gone = sum(
        len(set(by_value(whole[2], name)) - set(by_value(saved, name)))
        for name in tables.metadata.tables
    )
    assert gone <= len(done.lost)
    if seed % 4 != 3:
        # with an event goes what the making that follows it took from it
        assert gone <= 1 + any(one.startswith("event") for one in done.lost)


def test_the_head_of_the_file_is_put_right(whole, tmp_path):
    folder = damaged(whole, tmp_path / "old", bytes(100) + whole[1][100:])
    assert salvage(folder, tmp_path / "new").lost == ()


def test_a_picture_that_cannot_be_read_is_named_and_all_else_comes_over(
    whole, tmp_path, monkeypatch
):
    from argentry.book.pictures import kept as pictures

    def rotten(_):
        raise OSError(5, "Input/output error")

    folder = damaged(whole, tmp_path / "old", whole[1])
    monkeypatch.setattr(pictures, "sha256_of", rotten)
    done = salvage(folder, tmp_path / "new")
    [sha256] = {row["sha256"] for row in whole[2]["photograph"].values()}
    assert done.lost == (f"the picture {sha256} is missing or damaged.",)
    assert sum(done.rows.values()) == sum(len(rows) for rows in whole[2].values())


def test_a_rotten_picture_keeps_none_of_the_others_back(tmp_path):
    old, new = tmp_path / "old" / "pictures", tmp_path / "new"
    old.mkdir(parents=True)
    new.mkdir()
    first, *others = sorted(sha256(bytes([n])).hexdigest() for n in range(3))
    for n in range(3):
        (old / sha256(bytes([n])).hexdigest()).write_bytes(bytes([n]))
    (old / first).write_bytes(b"rot")
    read = SimpleNamespace(
        rows={
            "photograph": [{"sha256": first}, {"sha256": others[0]}],
            "judgement": [{"picture": others[1]}],
        }
    )
    assert _bring_pictures(old.parent, new, read) == [f"the picture {first} is missing or damaged."]
    assert sorted(one.name for one in (new / "pictures").iterdir()) == others


def test_what_was_read_out_of_a_picture_outlives_the_row_of_the_picture(tmp_path):
    where = tmp_path / "old"
    where.mkdir()
    book = filled(where)
    with writing(book) as connection:
        shown = connection.execute(tables.photograph.select()).mappings().one()
        said = {"seq": 1, "picture": shown["sha256"], "plate": shown["plate"], "kind": "coat",
                "judged_us": 1, "version": "1", "answer": "{}", "struck": "{}"}  # fmt: skip
        connection.execute(tables.judgement.insert(), [said])
    close_book(book)
    with closing(sqlite3.connect(where / FILE)) as raw, raw:
        raw.execute("UPDATE photograph SET bytes = bytes + 1")
    done = salvage(where, tmp_path / "new")
    assert any(shown["sha256"] in one and "stands in its place" in one for one in done.lost)
    book = open_book(tmp_path / "new")
    assert check(book) == []
    assert len(rows(book)["judgement"]) == 1
    close_book(book)


def test_what_cannot_be_salvaged_is_said(tmp_path, whole):
    with pytest.raises(BadInput, match="there is no book"):
        salvage(tmp_path, tmp_path / "new")
    folder = damaged(whole, tmp_path / "old", b"\0" * 9000)
    with pytest.raises(BadInput, match="restore the last backup"):
        salvage(folder, tmp_path / "new")
    with pytest.raises(BadInput, match="lies there already"):
        salvage(folder, folder)


@pytest.mark.parametrize("form", ["0001", "0003", "0004"])
def test_a_book_of_an_older_form_is_salvaged_too(tmp_path, form):
    from tests.book.test_migrations import old_book

    (tmp_path / "old").mkdir()
    old_book(tmp_path / "old", tmp_path / "old", form)
    done = salvage(tmp_path / "old", tmp_path / "new")
    assert done.lost == ()
    book = open_book(tmp_path / "new")
    assert log.last_seq(book) == 39
    assert plates(book)[0].remark == "old"
    assert makings(book)[0].grade == "good"
    assert check(book) == []
    close_book(book)


def test_a_server_s_book_is_salvaged_into_a_folder(book, tmp_path):
    log.append(book, [Event(new_id(), new_id(), "remark_made", NOON, body={"words": "x"})])
    where = (
        book.folder
        if book.kind == "sqlite"
        else str(book.engine.url.render_as_string(hide_password=False))
    )
    assert salvage(where, tmp_path / "new").lost == ()
    new = open_book(tmp_path / "new")
    assert log.last_seq(new) == 1
    close_book(new)


def test_two_lost_plates_of_one_label_both_come_back(whole, tmp_path):
    folder = damaged(whole, tmp_path / "old", whole[1])
    book, lost = open_book(folder), []
    labels = {"0" * 30 + "first1": "Q-9", "0" * 30 + "second": "Q-9"}
    with writing(book) as connection:
        _stand_ins(connection, "plate", lost, labels)
    found = {plate.id: plate.label for plate in plates(book)}
    assert [found[one] for one in labels] == ["Q-9", f"Q-9 {LOST} second"]
    assert len(lost) == 2
    close_book(book)


def test_a_mark_has_the_time_of_the_event_before_it():
    kept = [{"seq": place, "sum": "x", "at_us": 10 * place} for place in (2, 4)]
    marks = [(row["seq"], row["at_us"]) for row in _events(kept, []) if "kind" in row]
    assert marks == [(1, 0), (3, 20)]


def test_a_row_that_gets_another_place_is_sealed_again_and_no_other():
    kept = [{"seq": place, "sum": seal} for place, seal in ((5, "c"), (1, "a"), (2, "b"))]
    assert [(row["seq"], row["sum"]) for row in _numbered(kept)] == [(1, "a"), (2, "b"), (3, "")]
