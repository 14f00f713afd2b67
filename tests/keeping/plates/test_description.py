"""What a label says of a plate and of the picture on it."""

from datetime import UTC, date, datetime, timedelta

from argentry.book.plates import add_making, add_plate, add_work
from argentry.keeping.plates.description import picture_lines, plate_lines
from argentry.keeping.plates.plates import find_plate
from argentry.records.ids import new_id
from argentry.records.plate import Making, Plate
from argentry.records.plate_record import PlateWork


def test_a_finished_plate_says_when_and_how_its_picture_was_made(book):
    day = date(2026, 4, 2)
    gilded = {"gilding_minutes": 3.0}

    def lines():
        return plate_lines(book, find_plate(book, "P2"))

    plate = new_id()
    add_plate(book, Plate(plate, "P2", "quarter"))
    add_making(book, Making(new_id(), plate, None, "a", 1, day, grade="lost"))
    assert lines() == picture_lines(book, find_plate(book, "P2")) == ()
    later = day + timedelta(days=1)
    add_making(book, Making(new_id(), plate, None, "b", 1, later, conditions=gilded, grade="good"))
    assert lines() == ("Daguerreotype, 2026-04-03", "Iodine alone, red light; gilded")
    # a quarter plate is 3 1/4 by 4 1/4 inches (common practice of the trade, no source)
    assert picture_lines(book, find_plate(book, "P2")) == (
        "3 April 2026",
        "Daguerreotype, quarter plate, 83 × 108 mm",
        "Sensitised with iodine alone, developed by red light, gilded with gold",
    )
    at = datetime(2026, 4, 9, tzinfo=UTC)
    add_work(book, PlateWork(new_id(), plate, "polished_back", at, "", ""))
    assert lines() == ("Polished back: 1 ×",)
    again = day + timedelta(days=30)
    add_making(book, Making(new_id(), plate, None, "c", 1, again, grade="study"))
    assert lines() == (
        "Daguerreotype, 2026-05-02",
        "Iodine alone, developed by red light",
        "Polished back: 1 ×",
    )
