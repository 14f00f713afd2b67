"""What the book takes where nothing is said: it is opened quickly, and all of it is told."""

from tests.defaults import beyond_nothing, modules_of

from argentry import book

TAKEN = {
    "baths.baths.all_of_them": True,
    "care.doctor._Walk.expected": 1,
    "log.events_after.limit": 1000,
    "open.open_book.quick": True,
    "pictures.kept.Incoming.most": 100_000_000,
    "pictures.kept.incoming.most": 100_000_000,
    "readings.latest.trusted": True,
    "times.clean_text.longest": 2000,
}


def test_what_is_taken_where_nothing_is_said():
    assert modules_of(book)
    assert beyond_nothing(book) == TAKEN
