"""An archive of form 1, written before makings, comes in whole; with what its runs still prove.

``tests/fixtures/archive_form_1`` was written by the argentry of that time: P-101 was lost on 12 May
and made again on 14 May, one outcome tied to its first run; P-102 was given up untouched, P-103
after its first step, neither graded; P-104 was graded twice; P-105 comes from a notebook; P-106 was
begun and never graded.
"""

import shutil
from pathlib import Path

import pytest

from argentry.book import log
from argentry.book.care.doctor import check
from argentry.book.engine import close_book, reading
from argentry.book.makings import all_said, makings
from argentry.book.open import open_book
from argentry.book.pictures.kept import pictures
from argentry.book.plates import plates
from argentry.book.upgrade import notes
from argentry.errors import BadInput
from argentry.exchange.archive.archive import check_archive, export_book, import_archive

OLD = Path(__file__).parents[2] / "fixtures" / "archive_form_1"
# the same, before pictures were looked into; what `archive_book.fill` made then
SECOND = OLD.with_name("archive_form_2")


def told(book):
    labels = {plate.id: plate.label for plate in plates(book)}
    return [(labels[one.plate], one.day.isoformat(), one.state, one.grade) for one in makings(book)]


TOLD = [
    ("P-105", "2025-05-01", "finished", "good"),
    ("P-101", "2026-05-12", "given_up", "lost"),
    ("P-103", "2026-05-12", "given_up", None),
    ("P-104", "2026-05-14", "finished", "fine"),
    ("P-101", "2026-05-14", "finished", "good"),
    ("P-106", "2026-05-14", "finished", None),
]


def test_an_old_archive_comes_in_with_every_making_its_runs_prove(book):
    made = import_archive(book, OLD)
    assert made.rows["making"] == len(TOLD)
    assert sorted(told(book)) == sorted(TOLD)
    assert check(book) == []
    first, again = (one for one in makings(book) if one.plate == plates(book)[0].id)
    assert (first.defects, first.verdict) == ((("fog", "iodise"),), None)
    assert (again.defects, again.verdict, again.stages) == ((), "right", {"coat": "ok"})
    assert first.given_up.reason == "fault"
    said = [(one.what, one.said) for one in all_said(book, made_of(book, "P-104"))]
    assert said == [("grade", "study"), ("grade", "fine")]


def made_of(book, label):
    ids = {plate.label: plate.id for plate in plates(book)}
    return next(one.id for one in makings(book) if one.plate == ids[label])


def test_what_could_not_be_restored_is_told(book):
    import_archive(book, OLD)
    with reading(book) as connection:
        words = notes(connection)
    assert words[0].startswith("3 makings were restored from the runs of the bench")
    assert any("P-106 of 14 May 2026" in one and "never written" in one for one in words)
    assert any("P-101 of 14 May 2026" in one and "later run" in one for one in words)


def test_the_log_comes_in_as_it_was(book, tmp_path):
    import_archive(book, OLD)
    export_book(book, tmp_path / "out")
    name = "data/records/event.jsonl"
    assert (tmp_path / "out" / name).read_bytes() == (OLD / name).read_bytes()


@pytest.fixture
def other(tmp_path):
    folder = tmp_path / "other"
    folder.mkdir()
    opened = open_book(folder)
    yield opened
    close_book(opened)


def test_in_out_in_out_is_the_same_and_in_twice_changes_nothing(book, other, tmp_path):
    import_archive(book, OLD)
    assert import_archive(book, OLD).known
    export_book(book, tmp_path / "first")
    import_archive(other, tmp_path / "first")
    export_book(other, tmp_path / "second")
    for file in sorted((tmp_path / "first" / "data").rglob("*")):
        if file.is_file():
            same = tmp_path / "second" / file.relative_to(tmp_path / "first")
            assert file.read_bytes() == same.read_bytes(), file.name


def test_an_old_archive_is_checked_without_a_book():
    assert check_archive(OLD).rows["making"] == len(TOLD)


def test_an_old_archive_that_was_changed_is_refused(book, tmp_path):
    bag = tmp_path / "bag"
    shutil.copytree(OLD, bag)
    file = bag / "data" / "records" / "grade.jsonl"
    file.write_text(file.read_text(encoding="utf-8").replace("good", "fine"), encoding="utf-8")
    with pytest.raises(BadInput, match="grade"):
        import_archive(book, bag)
    assert log.last_seq(book) == 0


def test_an_archive_from_before_pictures_were_looked_into_comes_in_whole(book, tmp_path):
    assert check_archive(SECOND).rows["photograph"] == 1
    made = import_archive(book, SECOND)
    assert (made.rows["photograph"], made.rows["judgement"], made.pictures) == (1, 0, 1)
    assert check(book) == []
    (kept,) = pictures(book)
    assert (kept.kind, kept.width_px, kept.said, kept.named) == ("plate", None, {}, "")
    assert (kept.taken_from, kept.carries) == ("upload", None)
    assert import_archive(book, SECOND).known
    export_book(book, tmp_path / "out")
    for name in ("event", "making", "grade", "reading", "plate"):
        file = f"data/records/{name}.jsonl"
        assert (tmp_path / "out" / file).read_bytes() == (SECOND / file).read_bytes()
