"""What is put right about a lot: notes, weighings, what was taken by mistake."""

from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from argentry.book.lots import lots
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.stock.corrections import note_lot, undo_lot, weigh_lot
from argentry.keeping.stock.lots import list_stock, new_lot, use_stock
from argentry.records.material import LotFacts


def test_purity_and_last_day_change_for_how_many_plates_it_does(folder):
    gold = new_lot(folder, "Gold chloride", 1.0, "g")
    pure = note_lot(folder, "Gold chloride", LotFacts(purity=0.5))
    assert pure.plates_left == pytest.approx(gold.plates_left / 2)
    over = note_lot(folder, "Gold chloride", LotFacts(expires_on=date(2099, 1, 1)))
    assert (over.purity, over.expired) == (0.5, False)


def test_a_lot_whose_last_day_is_over_counts_for_no_plate(folder):
    old = date(2020, 1, 1)
    new_lot(folder, "Gold chloride", 1.0, "g", received_on=old, facts=LotFacts(expires_on=old))
    (row,) = list_stock(folder).lots
    assert (row.expired, row.plates_left, row.left) == (True, 0.0, 1.0)
    assert list_stock(folder).used_up == ("gold in the gilding bath",)


def test_a_weighing_books_the_difference_both_ways(folder):
    new_lot(folder, "Rouge", 5.0, "g")
    assert weigh_lot(folder, "Rouge", 3.5).left == pytest.approx(3.5)
    assert weigh_lot(folder, "Rouge", 4.0).left == pytest.approx(4.0)
    with pytest.raises(BadInput, match="amount"):
        weigh_lot(folder, "Rouge", 5.1)
    with pytest.raises(BadInput, match="amount"):
        weigh_lot(folder, "Rouge", -0.1)
    assert list_stock(folder).lots[0].left == pytest.approx(4.0)


def test_undo_restores_once_and_stays_written(folder):
    new_lot(folder, "Rouge", 5.0, "g")
    with pytest.raises(BadInput, match="nothing was taken from 'Rouge'"):
        undo_lot(folder, "Rouge")
    use_stock(folder, "Rouge", 2.0)
    assert undo_lot(folder, "Rouge").left == 5.0
    with pytest.raises(BadInput, match="nothing was taken"):
        undo_lot(folder, "Rouge")
    weigh_lot(folder, "Rouge", 1.0)
    assert undo_lot(folder, "Rouge").left == 5.0
    with studio_book(folder, None) as book:
        assert lots(book)[0].used == pytest.approx(0.0)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (LotFacts(purity=0.0), "--purity"),
        (LotFacts(purity=1.01), "--purity"),
        (LotFacts(purity=float("nan")), "--purity"),
        (LotFacts(price=-1.0), "--price"),
        (LotFacts(price=float("inf")), "--price"),
        (LotFacts(lead_days=-1.0), "--lead-days"),
        (LotFacts(lead_days=1e9), "--lead-days"),
        (LotFacts(opened_on=date(1999, 1, 1)), "--opened.*before the lot came in"),
        (LotFacts(expires_on=date(1999, 1, 1)), "--expires.*before the lot came in"),
        (LotFacts(), "nothing is noted"),
    ],
)
def test_facts_that_cannot_be_are_refused_and_nothing_is_noted(folder, facts, words):
    new_lot(folder, "Rouge", 5.0, "g")
    with pytest.raises(BadInput, match=words):
        note_lot(folder, "Rouge", facts)
    row = list_stock(folder).lots[0]
    assert (row.purity, row.price, row.lead_days, row.opened_on) == (None, None, None, None)
    if facts != LotFacts():
        with pytest.raises(BadInput, match=words):
            new_lot(folder, "Tripoli", 5.0, "g", facts=facts)
        assert len(list_stock(folder).lots) == 1


STEPS = st.lists(
    st.tuples(st.sampled_from(["use", "weigh", "undo"]), st.floats(-3.0, 12.0)), max_size=12
)


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(STEPS)
def test_no_sequence_leaves_less_than_nothing_or_more_than_came(folder, steps):
    name = "Rouge {n}".format(n=len(list_stock(folder, all_of_them=True).lots))
    new_lot(folder, name, 10.0, "g")
    left = 10.0
    for what, amount in steps:
        try:
            if what == "undo":
                now = undo_lot(folder, name)
            elif what == "weigh":
                now = weigh_lot(folder, name, amount)
            else:
                now = use_stock(folder, name, amount)
        except BadInput:
            rows = [row for row in list_stock(folder, all_of_them=True).lots if row.name == name]
            assert rows[0].left == pytest.approx(left, abs=1e-9)
            continue
        left = now.left
        assert -1e-9 <= left <= 10.0 + 1e-9
