from datetime import date

import pytest

from argentry.keeping.stock.lots import LotNow, Stock
from argentry.out.stock_words import lot_line, stock_notes, whole_plates, will_do


def row(middle, low=None, high=None, then=(), *, runs_out=False):
    low, high = (middle if low is None else low), (middle if high is None else high)
    lot = ("id", "Iodine", 10.0, "g", "", date(2026, 1, 2), 5.0)
    plates = {"plates_left": middle, "plates_left_low": low, "plates_left_high": high}
    return LotNow(*lot, left=5.0, material="iodine", runs_out=runs_out, then=then, **plates)


@pytest.mark.parametrize(
    ("number", "told"),
    [(0.0, 0), (0.9, 0), (12.9, 12), (12.9999999999, 13), (99.5, 99), (12499.99, 12000)],
)
def test_plates_are_whole_and_never_more_than_there_are(number, told):
    assert whole_plates(number) == told


def test_a_range_is_told_only_when_there_is_one():
    assert will_do(row(12.5, 3.3, 33.3)) == "12 (3–33)"
    assert will_do(row(3.0)) == "3"
    assert will_do(row(None)) == "–"


def test_a_line_for_a_lot():
    line = "Lot Iodine: 5 g of 10 g left"
    assert lot_line(row(None)) == line
    assert lot_line(row(1.2)) == f"{line}, for 1 plate"
    assert lot_line(row(1.2, 0.3, 3.3)) == f"{line}, for 1 (0–3) plates"


def test_what_runs_out_and_what_is_gone_is_said():
    lots = (row(1.0, runs_out=True, then=("Iodine 2",)), row(50.0))
    assert stock_notes(Stock(lots, "half", 1, ("rouge",))) == [
        "Iodine runs out within the next plate; then there is Iodine 2.",
        "Nothing is left of: rouge.",
    ]
    (note,) = stock_notes(Stock((row(1.0, runs_out=True),), "half", 3, ()))
    assert note == "Iodine runs out within the next 3 plates."
