"""How much a book holds."""

from dataclasses import asdict
from datetime import UTC, date, datetime

from sqlalchemy import update

from argentry.book.care.sizes import sizes
from argentry.book.engine import writing
from argentry.book.log import append
from argentry.book.makings import add_making
from argentry.book.plates import add_plate
from argentry.book.tables import making
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.plate import WITHDRAWN, Making, Plate

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)


def test_everything_is_counted_and_what_was_withdrawn_is_not(book):
    empty = asdict(sizes(book))
    form = empty.pop("form")
    assert len(form) == 4
    assert set(empty.values()) == {0}
    plates = [Plate(new_id(), label) for label in ("A", "B")]
    for one in plates:
        add_plate(book, one)
    made = [Making(new_id(), one.id, None, "morning", 1, date(2026, 6, 21)) for one in plates]
    for one in made:
        add_making(book, one, by="desk", at=NOON)
    run = new_id()
    body = {
        "title": "Morning", "plates": [{"id": plates[0].id, "label": "A"}], "steps": [],
        "place": {"time_zone": "UTC"},
    }  # fmt: skip
    append(book, [Event(new_id(), run, "run_opened", NOON, None, None, body, "desk")])
    append(book, [Event(new_id(), run, "remark_made", NOON, None, None, {"words": "x"}, "desk")])
    held = sizes(book)
    assert (held.runs, held.events, held.plates, held.outcomes) == (1, 2, 2, 2)
    assert (held.readings, held.baths, held.lots, held.pictures) == (0, 0, 0, 0)
    with writing(book) as connection:
        connection.execute(update(making).where(making.c.id == made[0].id).values(state=WITHDRAWN))
    assert (sizes(book).outcomes, sizes(book).plates) == (1, 2)
