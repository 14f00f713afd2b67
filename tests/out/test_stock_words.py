from datetime import date
from types import SimpleNamespace

import pytest

from argentry.keeping.stock.lot_facts import LotNow
from argentry.keeping.stock.lots import Stock
from argentry.needs.materials.bath_life import bath_life
from argentry.needs.materials.plate_wear import PlateWear
from argentry.out.stock_words import (
    bath_lasts,
    how_long,
    lot_line,
    stock_notes,
    whole_plates,
    will_do,
    worn_plate,
)
from argentry.trade.recipes import recipe


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


@pytest.mark.parametrize(
    ("days", "told"),
    [
        (None, "–"), (0.0, "0 days"), (1.2, "1 day"), (330.4, "330 days"), (750.0, "2 years"),
        (3652.0, "10 years"), (4104.0, "over 10 years"), (174650.0, "over 10 years"),
    ],
)  # fmt: skip
def test_how_long_a_material_lasts_is_told_as_the_pace_of_a_month_allows(days, told):
    assert how_long(days) == told


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


def lasts(key, ml, plates, days=0.1):
    life = bath_life(recipe(key), ml, plates * 89.112725, days, 89.112725)
    return bath_lasts(SimpleNamespace(life=life))


def test_plates_left_in_a_bath_are_told_once_and_never_beside_the_word_to_renew_it():
    assert lasts("gild", 100.0, 1) == "Renew soon. 3 plates more (3–4)."
    assert lasts("gild", 100.0, 3) == "Renew soon. 1 plate more (1–2)."
    assert lasts("gild", 23.0, 0) == "Renew soon. 1 plate more."
    assert lasts("gild", 100.0, 1, 3.0) == (
        "Renew before the next plate. It is 72 h old; it keeps about 24."
    )
    assert lasts("fix", 100.0, 0).startswith("Good. 19 plates more (5–48).")


def test_a_plate_that_is_too_thin_already_is_not_said_to_become_so():
    def plate(left_um, repolishes=1):
        return PlateWear("P1", "quarter", 9.0, repolishes, 0, left_um)

    assert worn_plate(plate(2.4), 2.0) == (
        "P1 is worn: 2.4 µm of silver are left, and one more repolish may leave less than 2 µm."
    )
    assert worn_plate(plate(1.1), 2.0) == ("P1 is worn: 1.1 µm of silver are left, less than 2 µm.")
    assert worn_plate(plate(1.3, 0), 2.0) == (
        "P1 is silvered thin: 1.3 µm bears a picture and no repolish, "
        "which may leave less than 2 µm."
    )
