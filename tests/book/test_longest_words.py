"""How long each word may be that a row of the book keeps, and that it stands in its own column."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest
from tests.every import every

from argentry.book import baths, log, lots, makings, plates, readings
from argentry.book.judgements import Judgement, checked
from argentry.book.pictures import kept
from argentry.errors import BadInput
from argentry.records.event import Event
from argentry.records.ids import new_id
from argentry.records.material import Lot
from argentry.records.plate import Making, Photograph, Plate, Reading

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
LOT = Lot("l", "iodine", 100.0, "g", "", NOON.date())
READING = Reading(new_id(), "box_c", 14.0, "°C", NOON, "thermometer 1")
EVENT = Event(new_id(), "r", "run_closed", NOON)
PLATE = Plate("p", "A 1")
MAKING = Making("m", "p", None, "1", 1, date(2026, 6, 21))
PICTURE = Photograph("0" * 64, "p", "plate", NOON, "image/png", 1)
ROWS = [
    (lots.lot_row, LOT, {"id": 100, "name": 200, "unit": 50, "supplier": 200}),
    (
        readings._row,
        READING,
        {"what": 100, "unit": 50, "source": 200, "run": 100, "plate": 100, "doubt": 500},
    ),
    (log._row, EVENT, {"run": 100, "plate": 100, "step": 100, "device": 200}),
    (
        plates._row,
        PLATE,
        {"id": 100, "label": 100, "size": 100, "silver_source": 200, "remark": 2000},
    ),
    (makings._row, MAKING, {"id": 100, "run": 100, "session": 200, "remark": 2000}),
    (kept._row, PICTURE, {"kind": 100, "named": 120}),
]


@every(
    "row, whole, field, longest",
    [(row, whole, *one) for row, whole, fields in ROWS for one in fields.items()],
)
def test_a_word_of_a_row_may_be_so_long(row, whole, field, longest):
    assert row(replace(whole, **{field: "x" * longest}))[field] == "x" * longest
    with pytest.raises(BadInput):
        row(replace(whole, **{field: "x" * (longest + 1)}))


def test_who_put_a_plate_through_a_bath_may_have_so_many_letters():
    assert baths._bath_use("b", 1, 2.0, "x" * 200, NOON)["who"] == "x" * 200
    with pytest.raises(BadInput, match="by: it has 201 letters"):
        baths._bath_use("b", 1, 2.0, "x" * 201, NOON)


@every("defect", [("x" * 100, ""), ("", "x" * 100)])
def test_a_defect_and_the_step_it_came_from_may_have_a_hundred_letters(defect):
    assert checked(Judgement(defects=(defect,))).defects == (defect,)
    with pytest.raises(BadInput, match="it has 101 letters"):
        checked(Judgement(defects=(tuple(one + "x" if one else "" for one in defect),)))
