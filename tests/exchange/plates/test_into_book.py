"""A table of plates goes into the book whole or not at all, and no row twice; both stores."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from tests.judging import judge

from argentry.book.care.doctor import check
from argentry.book.makings import what_teaches
from argentry.book.plate_list import plate_page
from argentry.book.plates import add_plate, makings, names_and_sizes, plate_by_label, plates
from argentry.errors import BadInput
from argentry.exchange.plates.into_book import compare, import_plates, take_back
from argentry.exchange.plates.mapping import PlateMapping
from argentry.exchange.plates.table import plates_from
from argentry.exchange.sheets.layout import Sheet
from argentry.records.ids import new_id
from argentry.records.plate import Plate

NOW = datetime(2026, 7, 1, tzinfo=UTC)
HEAD = ("plate", "date", "silver_um", "made_on", "commissioned", "room_c", "grade", "defects")
FIRST = ("P1", "2026-06-21", "12.7", "2026-05-01", "yes", "21", "good", "fog@coat")
SECOND = ("P2", "2026-06-21", "", "", "", "", "", "")


def table(*rows):
    numbered = tuple(enumerate(rows, 2))
    return plates_from(Sheet("p.csv", HEAD, numbered), PlateMapping())


def test_rows_come_back_as_they_were_read(book):
    read = table(FIRST, SECOND)
    found = import_plates(book, read, at=NOW)
    assert len(found.fresh) == 2
    assert plates(book) == [row.plate for row in read.rows]
    assert makings(book) == [row.making for row in read.rows]
    assert makings(book)[0].commissioned


def test_the_same_file_again_and_a_longer_one(book):
    import_plates(book, table(FIRST), at=NOW)
    again = import_plates(book, table(FIRST), at=NOW)
    assert (len(again.fresh), again.known) == (0, 1)
    longer = import_plates(book, table(FIRST, SECOND), at=NOW)
    assert (len(longer.fresh), longer.known) == (1, 1)
    assert len(makings(book)) == len(plates(book)) == 2


def test_a_plate_made_again_in_a_longer_file_gets_its_second_making(book):
    import_plates(book, table(FIRST), at=NOW)
    longer = table(FIRST, ("P1", "2026-07-01", *FIRST[2:6], "lost", ""))
    found = import_plates(book, longer, at=NOW)
    assert (len(found.fresh), found.known, found.problems) == (1, 1, ())
    assert [one.grade for one in makings(book)] == ["good", "lost"]


def test_a_grade_given_in_the_book_stays_when_the_file_comes_again(book):
    import_plates(book, table(FIRST), at=NOW)
    judge(book, makings(book)[0].id, grade="fine")
    import_plates(book, table(FIRST), at=NOW)
    assert [one.grade for one in makings(book)] == ["fine"]


def test_a_plate_with_other_values_stays_out_and_the_clear_rows_go_in(book):
    import_plates(book, table(FIRST), at=NOW)
    changed = table((*FIRST[:5], "22", *FIRST[6:]), SECOND)
    found = compare(book, changed)
    assert [(problem.row, problem.column) for problem in found.problems] == [(2, "plate")]
    told = import_plates(book, changed, at=NOW).problems[0].sentence
    assert told.startswith("row 2, column plate: plate 'P1' is in the book already")
    assert plate_by_label(book, "P2") is not None
    assert [one.conditions["room_c"] for one in makings(book) if one.conditions] == [21.0]


def test_a_bad_row_stays_out_and_comes_in_once_it_is_mended(book):
    bad = ("P2", "2026-06-21", "thin", "", "", "", "best", "")
    third = ("P3", "2026-06-21", "", "", "", "", "", "")
    import_plates(book, table(FIRST, bad, third), at=NOW)
    assert [plate.label for plate in plates(book)] == ["P1", "P3"]
    mended = import_plates(book, table(FIRST, SECOND, third), at=NOW)
    assert (len(mended.fresh), mended.known, mended.problems) == (1, 2, ())
    assert [one.order for one in makings(book)] == [1, 2, 3]  # its place was kept free


def test_a_failure_half_way_leaves_nothing(book):
    read = table(FIRST, SECOND)
    lost = replace(read.rows[1], making=replace(read.rows[1].making, plate="nowhere"))
    with pytest.raises(BadInput, match="its plate is not in the book"):
        import_plates(book, replace(read, rows=(read.rows[0], lost)), at=NOW)
    assert plates(book) == []
    assert makings(book) == []


def test_progress_ends_at_the_last_row(book):
    told = []
    rows = [(f"P{i}", "2026-06-21", "", "", "", "", "", "") for i in range(501)]
    import_plates(book, table(*rows), at=NOW, progress=lambda *pair: told.append(pair))
    assert told == [(500, 501), (501, 501)]


def test_a_corrected_table_stands_for_what_was_imported_before(book):
    third = ("P3", "2026-06-21", "", "", "", "", "good", "")
    import_plates(book, table(FIRST, SECOND, third), at=NOW)
    judge(book, makings(book)[1].id, grade="study")  # in the book since
    # another temperature and silver; another day; and P3 is not in the corrected table
    first = ("P1", "2026-06-21", "15", "2026-05-01", "yes", "22", "lost", "fog@coat")
    second = ("P2", "2026-06-12", "", "", "", "", "good", "")
    right = table(first, second)
    assert len(compare(book, right).problems) == 2
    before = what_teaches(book)
    found = import_plates(book, right, at=NOW, instead=True)
    assert (len(found.fresh), len(found.instead), found.problems) == (2, 2, ())
    assert what_teaches(book) != before
    made = {plate.label: plate for plate in plates(book)}
    assert made["P1"].silver_um == 15.0
    told = {one.plate: one for one in makings(book)}
    assert len(told) == len(makings(book)) == 3
    p1, p2 = told[made["P1"].id], told[made["P2"].id]
    assert (p1.conditions["room_c"], p1.grade) == (22.0, "lost")
    assert (p2.day.isoformat(), p2.grade) == ("2026-06-12", "study")
    assert import_plates(book, right, at=NOW, instead=True).known == 2
    assert check(book) == []


def test_an_import_is_taken_back_and_comes_again(book):
    read = table(FIRST, SECOND)
    import_plates(book, read, at=NOW)
    judge(book, makings(book)[0].id, grade="fine")
    before = what_teaches(book)
    assert take_back(book, read) == 2
    assert what_teaches(book) != before
    assert makings(book) == plates(book) == names_and_sizes(book) == []
    assert plate_page(book, "", 0, 10) == ([], 0)
    assert plate_by_label(book, "P1") is None, "`plate show` told it as a plate not made yet"
    assert take_back(book, read) == 0
    found = import_plates(book, read, at=NOW)
    assert (len(found.fresh), found.known) == (2, 0)
    assert [one.grade for one in makings(book)] == ["fine", None]
    assert [one.label for one in plates(book)] == ["P1", "P2"]
    assert check(book) == []


def test_a_list_to_mend_has_other_makings_of_plates_that_came_in(book):
    import_plates(book, table(FIRST), at=NOW)
    rest = table(("P1", "2026-07-01", *FIRST[2:6], "lost", ""))
    assert len(compare(book, rest).problems) == 1  # by itself it may be another maker's P1
    assert len(import_plates(book, rest, at=NOW, of_list=True).fresh) == 1
    assert import_plates(book, rest, at=NOW, of_list=True).known == 1
    assert [one.grade for one in makings(book, plates(book)[0].id)] == ["good", "lost"]


def test_the_label_of_a_plate_that_was_taken_back_is_free(book):
    read = table(FIRST, SECOND)
    import_plates(book, read, at=NOW)
    take_back(book, read)
    other = Plate(new_id(), "P2", "half")
    assert add_plate(book, other)
    assert plate_by_label(book, "P2") == other
    found = import_plates(book, read, at=NOW)
    assert [(len(found.fresh), problem.row) for problem in found.problems] == [(1, 3)]
    assert [one.label for one in plates(book)] == ["P1", "P2"]
    assert check(book) == []
