"""A table of plates goes into the book whole or not at all, and no row twice; both stores."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from tests.judging import judge

from argentry.book.plates import makings, plate_by_label, plates
from argentry.errors import BadInput
from argentry.exchange.plates.into_book import compare, import_plates
from argentry.exchange.plates.mapping import PlateMapping
from argentry.exchange.plates.table import plates_from
from argentry.exchange.sheets.layout import Sheet

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
