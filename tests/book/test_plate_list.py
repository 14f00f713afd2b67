"""Plates with their last making, for a page."""

from datetime import UTC, date, datetime

import pytest
from tests.judging import judge

from argentry.book import makings as book_makings
from argentry.book.plate_list import labels_of, last_made, made_in, plate_page
from argentry.book.plates import add_plate
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


@pytest.fixture
def shelf(book):
    """Six plates: 3 and 4 made, 4 twice; a label with the signs of a pattern in it."""
    plates = [Plate(new_id(), label, size="half") for label in ("A 1", "A 2", "A 3", "B 4", "B_5%")]
    for one in plates:
        add_plate(book, one)
    made = [
        (plates[2], date(2026, 6, 3), "morning", 1, "good"),
        (plates[3], date(2026, 6, 1), "morning", 2, "lost"),
        (plates[3], date(2026, 6, 3), "morning", 2, "study"),
        (plates[0], date(2026, 6, 3), "evening", 1, None),
    ]
    for plate, day, session, order, grade in made:
        defects = (("fog", "development"), ("blues", "coat")) if grade == "study" else ()
        one = Making(new_id(), plate.id, None, session, order, day, grade=grade, defects=defects)
        book_makings.add_making(book, one, by="desk", at=NOON)
    return plates


def test_the_makings_made_last_come_first(book, shelf):
    found = last_made(book, 10)
    assert [(line.label, line.day, line.grade) for line in found] == [
        ("B 4", "2026-06-03", "study"),
        ("A 3", "2026-06-03", "good"),
        ("A 1", "2026-06-03", None),
        ("B 4", "2026-06-01", "lost"),
    ]
    assert [line.label for line in last_made(book, 2)] == ["B 4", "A 3"]
    assert found[0].defects == ("fog", "blues")
    assert found[1].defects == found[3].defects == ()
    assert {line.size for line in found} == {"half"}


def test_a_page_of_plates_by_label_with_how_many_there_are(book, shelf):
    lines, count = plate_page(book, "", 0, 10)
    assert count == 5
    assert [line.label for line in lines] == ["A 1", "A 2", "A 3", "B 4", "B_5%"]
    last = {line.label: (line.day, line.grade) for line in lines}
    assert last["B 4"] == ("2026-06-03", "study")  # the newest of its makings
    assert last["A 2"] == (None, None)
    assert lines[1].making is None
    part, count = plate_page(book, "", 1, 2)
    assert ([line.label for line in part], count) == (["A 2", "A 3"], 5)


def test_a_plate_is_found_by_part_of_its_label_and_signs_are_only_signs(book, shelf):
    found, count = plate_page(book, "b", 0, 10)
    assert ([line.label for line in found], count) == (["B 4", "B_5%"], 2)
    found, count = plate_page(book, "_5%", 0, 10)
    assert ([line.label for line in found], count) == (["B_5%"], 1)
    assert plate_page(book, "_", 0, 10)[1] == 1
    assert plate_page(book, "C", 0, 10) == ([], 0)


def test_the_newest_word_of_a_making_counts(book, shelf):
    line = last_made(book, 1)[0]
    seen = book_makings.making(book, line.making).defects
    left = tuple(one for one in seen if one != ("fog", "development"))
    assert len(left) < len(seen)
    judge(book, line.making, grade="good", defects=left, by="desk", at=NOON)
    again = last_made(book, 1)[0]
    assert (again.making, again.grade, again.defects) == (line.making, "good", ("blues",))


def test_labels_by_ids(book, shelf):
    some = [shelf[0].id, shelf[3].id]
    assert labels_of(book, some) == {shelf[0].id: "A 1", shelf[3].id: "B 4"}
    assert labels_of(book, []) == {}


def test_the_makings_of_a_run_in_its_order(book, shelf):
    for place, plate in ((2, shelf[0]), (1, shelf[4])):
        one = Making(new_id(), plate.id, "a run", "noon", place, date(2026, 6, 5), grade="good")
        book_makings.add_making(book, one, by="desk", at=NOON)
    found = made_in(book, "a run")
    assert [(line.label, line.grade) for line in found] == [("B_5%", "good"), ("A 1", "good")]
    assert made_in(book, "another") == []
