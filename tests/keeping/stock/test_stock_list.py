"""A list of stock taken into the book: whole, once, and never half."""

from datetime import date

import pytest

from argentry.exchange.stock_list import stock_list_in
from argentry.keeping.stock import stock_list
from argentry.keeping.stock.lots import list_stock, new_lot
from argentry.keeping.stock.stock_list import import_stock
from argentry.records.material import LotFacts

HEAD = "name,amount,left,supplier,received,opened,expires,price\n"
GOOD = HEAD + (
    "Iodine,100 g,72.5,a shop,2026-04-03,2026-04-04,2029-03-31,48.5\n"
    "Gold chloride,1 g,,,,2026-02-01,,119\n"
    "Cover glass,50 piece,0,,,,,\n"
)


def write(_folder, text):
    return stock_list_in("shelf.csv", text.encode())


def names(folder):
    return {lot.name for lot in list_stock(folder, all_of_them=True).lots}


def test_a_list_is_noted_with_all_that_it_says(folder):
    made = import_stock(folder, write(folder, GOOD), by="Ana")
    assert (made.file, made.rows, made.known, made.problems) == ("shelf.csv", 3, 0, ())
    lots = {lot.name: lot for lot in list_stock(folder, all_of_them=True).lots}
    assert {lot.id for lot in made.lots} == {lot.id for lot in lots.values()}
    iodine = lots["Iodine"]
    assert (iodine.amount, iodine.left, iodine.supplier) == (100.0, 72.5, "a shop")
    assert (iodine.received_on, iodine.price) == (date(2026, 4, 3), 48.5)
    assert (iodine.opened_on, iodine.expires_on) == (date(2026, 4, 4), date(2029, 3, 31))
    # without a day it came in, one that was opened has come in by then
    assert lots["Gold chloride"].received_on == date(2026, 2, 1)
    assert lots["Gold chloride"].key == "gold"
    assert lots["Cover glass"].left == 0.0


def test_the_second_time_nothing_is_noted_twice(folder):
    import_stock(folder, write(folder, GOOD))
    again = import_stock(folder, write(folder, GOOD + "Rouge,5 g,,,,,,\n"))
    assert (again.rows, again.known) == (4, 3)
    assert [lot.name for lot in again.lots] == ["Rouge"]
    assert names(folder) == {"Iodine", "Gold chloride", "Cover glass", "Rouge"}


def test_sent_twice_at_the_same_time_it_is_noted_once(folder, monkeypatch):
    """Both looked, both found nothing, and each lot was noted twice."""
    real, inner = stock_list.lots, []

    def looked(book):
        found = real(book)
        if not inner:  # between this look and what is noted by it, the same list comes again
            inner.append(True)
            inner.append(import_stock(folder, write(folder, GOOD)))
        return found

    monkeypatch.setattr(stock_list, "lots", looked)
    outer = import_stock(folder, write(folder, GOOD))
    assert (outer.known, len(outer.lots), len(inner[1].lots)) == (3, 0, 3)
    assert len(list_stock(folder, all_of_them=True).lots) == 3


def test_a_lot_noted_by_hand_is_known_and_another_of_its_name_is_asked_about(folder):
    new_lot(folder, "rouge", 5.0, "g", supplier="a shop", received_on=date(2026, 6, 1))
    same = "Rouge,5 g,,a shop,,,,\n"
    assert import_stock(folder, write(folder, HEAD + same)).known == 1
    other_day = import_stock(folder, write(folder, HEAD + "Rouge,5 g,,a shop,2026-06-02,,,\n"))
    assert "5 g of lot 'rouge' are left" in other_day.problems[0].sentence
    for row in ("Rouge,6 g,,a shop,,,,\n", "Rouge,5 kg,,a shop,,,,\n", "Rouge,5 g,,,,,,\n"):
        assert import_stock(folder, write(folder, HEAD + row)).problems


def test_looking_first_notes_nothing(folder):
    looked = import_stock(folder, write(folder, GOOD), dry_run=True)
    assert (looked.rows, looked.lots, looked.dry_run) == (3, (), True)
    assert names(folder) == set()


@pytest.mark.parametrize(
    ("row", "column", "says"),
    [
        ("Mercury,5 g,,,,,,\n", "name", "'Mercury' is refused"),
        ("Rouge,5 g,,,2100-01-01,,,\n", "received", "is in the future"),
        ("Rouge,5 g,,,2026-05-02,,2025-01-01,\n", "expires", "it is before the lot came in"),
        ("Rouge,5 g,,,2026-05-02,2026-05-01,,\n", "opened", "it is before the lot came in"),
        ("Rouge,5 g,,,,,,1000000000000\n", "price", "give a number from 0"),
        ("iodine,7 g,,,,,,\n", "name", "row 2 has that name too; tell them apart"),
        ("Rouge,,,,,,,\n", "amount", "it is empty"),
    ],
)
def test_with_one_wrong_row_nothing_is_noted(folder, row, column, says):
    made = import_stock(folder, write(folder, GOOD + row))
    (problem,) = made.problems
    assert (problem.row, problem.column) == (5, column)
    assert says in problem.sentence
    assert made.lots == ()
    assert names(folder) == set()


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ("Rouge,5000000000000 g,,,,,,\n", "amount: 5e+12 g is out of range; give a number above 0"),
        ("Rouge,5 g,," + "x" * 201 + ",,,,\n", "it has 201 letters; give at most 200"),
    ],
)
def test_what_no_book_holds_is_told_with_its_row(folder, row, says):
    made = import_stock(folder, write(folder, GOOD + row))
    assert made.problems[0].row == 5
    assert says in made.problems[0].sentence
    assert names(folder) == set()


def test_used_up_lots_of_one_name_may_stand_in_one_list(folder):
    made = import_stock(folder, write(folder, HEAD + "Rouge,5 g,,,,,,\nRouge,6 g,0,,,,,\n"))
    assert made.problems == ()
    assert sorted(lot.left for lot in made.lots) == [0.0, 5.0]
    assert made.lots[0].purity is LotFacts().purity
