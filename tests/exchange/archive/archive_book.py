"""A book with something of everything, for tests of archives."""

from datetime import UTC, date, datetime, timedelta

from tests.judging import judge

from argentry.book.baths import add_bath, discard_bath, use_bath
from argentry.book.log import append
from argentry.book.lots import add_lots, use_lot
from argentry.book.materials.notes import add_notes
from argentry.book.pictures.judged import add_judged, confirm
from argentry.book.pictures.kept import add_picture
from argentry.book.plates import (
    add_making,
    add_plate,
    add_work,
)
from argentry.book.readings import add_readings
from argentry.records.event import Event
from argentry.records.ids import make_id
from argentry.records.material import LOT, Bath, Lot, MaterialNote
from argentry.records.plate import Judged, Making, Plate, Reading
from argentry.records.plate_record import PlateWork

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
GIVEN_UP = {"stage": "polish", "reason": "fault", "defect": "scratches", "why": "größer"}
PICTURE = b"\xff\xd8\xff an invented picture"


def some_id(number):
    return make_id(1_750_000_000_000 + number, number)


def fill(book):
    plate = Plate(some_id(1), "Ä 1", "half", date(2026, 5, 1), 12.7, "=lot 7", 1, "ok\nsecond line")
    other = Plate(some_id(2), "a 2")
    add_plate(book, plate)
    add_plate(book, other)
    add_work(book, PlateWork(some_id(3), plate.id, "polished_back", NOON, "Ana", ""))
    conditions = {"room_c": 21.0, "moon": "=1+1", "fuming_seconds": 1e-7}
    making = Making(
        *(some_id(4), plate.id, None, "s", 1, date(2026, 6, 20), True, conditions),
        stages={"coat": "fault"},
        verdict="under",
        grade="study",
        defects=(("fog", "develop"), ("haze", "seal")),
    )
    add_making(book, making, by="Ana", at=NOON)
    seen = (("fog", "develop"), ("bubbles", "gild"))
    judge(book, making.id, grade="good", defects=seen, by="Ben", at=NOON)
    body = {"title": "Run", "plates": [{"id": plate.id, "label": plate.label}]}
    body["steps"] = [{"key": "final_buff", "title": "Buff", "law": "fixed", "planned_s": 60.0}]
    append(
        book,
        [
            Event(some_id(10), "run", "run_opened", NOON, body=body, device="tablet"),
            Event(some_id(31), "run", "step_begun", NOON, plate.id, "final_buff"),
            Event(some_id(32), "run", "plate_abandoned", NOON, plate.id, body=GIVEN_UP),
            *(
                Event(
                    some_id(11 + i),
                    "run",
                    "remark_made",
                    NOON + timedelta(microseconds=i),
                    plate.id,
                    body={"words": "größer \u2028 \U0001f4f7", "n": i / 3},
                )
                for i in range(20)
            ),
        ],
    )
    values = [("room_c", 21.0), ("room_c", -0.0), ("box_c", 1 / 3), ("light_lx", 1e5)]
    add_readings(
        book,
        [
            Reading(some_id(100 + i), what, value, "x", NOON, "probe", None, None, "")
            for i, (what, value) in enumerate(values * 10)
        ],
    )
    bath = Bath(some_id(200), "Fix 1", "plain_fixer", NOON, 500.0)
    add_bath(book, bath)
    use_bath(book, bath.id, 2, 178.2, "Ana", NOON)
    discard_bath(book, bath.id, NOON)
    lot = Lot(some_id(201), "Iodine", 100.0, "g", "a shop", date(2026, 1, 2))
    add_lots(book, [lot])
    use_lot(book, lot.id, 2.5, "Ana", NOON)
    add_notes(book, [MaterialNote(LOT, lot.id, "price", "45.5", NOON, "Ana")])
    kept = add_picture(book, plate.id, "plate", NOON, PICTURE)
    seen = Judged(kept.sha256, plate.id, "coat", NOON, "1", {"line": "gold, 24 nm", "nm": 24.0})
    add_judged(book, seen)
    confirm(book, plate.id, kept.sha256, "coat", NOON, struck={"stripes": "größer"})
