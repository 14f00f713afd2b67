"""What the coming days need against what is there, and what must be ordered by when."""

import math
from datetime import UTC, date, datetime, timedelta

import pytest

from argentry.book.plates import add_makings, add_plate
from argentry.errors import BadInput
from argentry.keeping.book import studio_book
from argentry.keeping.moments import today_of
from argentry.keeping.stock.corrections import undo_lot, weigh_lot
from argentry.keeping.stock.lots import list_stock, new_lot, use_stock
from argentry.keeping.stock.orders import needs_of, stock_needs
from argentry.out.stock_words import there
from argentry.records.ids import new_id
from argentry.records.material import LotFacts
from argentry.records.plate import Making, Plate

NOW = datetime(2026, 6, 21, 12, tzinfo=UTC)


def test_need_is_what_plates_use_up_against_what_is_there(folder):
    new_lot(folder, "Cover glass", 6.0, "piece")
    found = stock_needs(folder, plates=4, month_plates=30.0)
    (glass,) = found.materials
    assert (glass.there, glass.tomorrow, glass.month) == pytest.approx((6.0, 4.0, 30.0))
    assert glass.days_left == pytest.approx(6.0)
    assert (glass.lacks_tomorrow, glass.lacks_month, glass.will_not_last_week) == (
        False,
        True,
        True,
    )
    assert stock_needs(folder, plates=7, month_plates=0.0).materials[0].lacks_tomorrow
    assert "cover glass" not in found.never_stocked
    use_stock(folder, "Cover glass", 5.5)
    new_lot(folder, "Cover glass, new", 4.0, "piece")
    use_stock(folder, "Cover glass, new", 4.0)
    with studio_book(folder) as book:
        (glass,) = needs_of(book, None, plates=4).materials  # a book without its studio
    assert glass.lots == ("Cover glass",)  # half a pane is still something
    assert "iodine" in found.never_stocked


def test_no_order_is_dated_beyond_a_year(folder):
    """At the pace of a month iodine for 6000 plates would last until the year 2300."""
    new_lot(folder, "Iodine", 50.0, "g")
    with studio_book(folder, None) as book:
        (iodine,) = needs_of(book, folder, month_plates=1.0, now=NOW).materials
    assert iodine.order_by is None
    assert (iodine.order_now, iodine.lacks_month) == (False, False)


def test_an_order_is_due_when_lead_time_and_spare_are_used_up(folder):
    facts = LotFacts(price=50.0, lead_days=10.0)
    received = date(2026, 6, 1)
    new_lot(
        folder, "Cover glass", 100.0, "piece", supplier="a shop", facts=facts, received_on=received
    )
    with studio_book(folder, None) as book:
        calm = needs_of(book, folder, month_plates=30.0, now=NOW).materials[0]
        # by hand: one plate a day on days of ten (no day is in the book yet), 17 days of lead time
        # and spare: 17 plates; their spread is 10 x 17 x (1 + 17/28) for the days and the pace,
        # 2.5^2 for the shop's, 17^2 x (exp(0.2704^2) - 1) for one glass or two: 17.4; 1.645 of it
        assert calm.reorder_at == pytest.approx(17.0 + 1.645 * 17.36, rel=1e-3)
        assert calm.order_by == NOW.date() + timedelta(days=int(100 - 45.56))
        assert not calm.order_now
        assert calm.order == 36.0  # 90 + 45.56 - 100, in whole panes
        due = needs_of(book, folder, month_plates=300.0, now=NOW).materials[0]
    assert due.order_now
    assert due.order == math.ceil(10.0 * 90.0 + due.reorder_at - 100.0)
    assert due.price == pytest.approx(0.5 * due.order)
    assert due.supplier == "a shop"


def test_the_pace_is_that_of_the_last_weeks(folder):
    new_lot(folder, "Cover glass", 6.0, "piece", received_on=date(2026, 1, 1))
    plate = Plate(new_id(), "A")
    with studio_book(folder, None) as book:
        add_plate(book, plate)
        days = [NOW.date() - timedelta(days=n) for n in (0, 1, 27, 28, 40)]
        add_makings(
            book, [Making(new_id(), plate.id, None, f"s{d}", 1, d, grade="good") for d in days]
        )
        found = needs_of(book, folder, now=NOW)
    assert found.month_plates == pytest.approx(3 * 30 / 28)
    assert found.tomorrow_plates == 1


def test_what_was_weighed_teaches_what_a_plate_uses_up(folder):
    new_lot(folder, "Iodine", 10.0, "g", received_on=date(2026, 6, 1))
    plates = [Plate(new_id(), f"P{n}") for n in range(40)]
    with studio_book(folder, None) as book:
        for plate in plates:
            add_plate(book, plate)
        made = [Making(new_id(), p.id, None, "s", n, NOW.date()) for n, p in enumerate(plates)]
        add_makings(book, made)
        before = needs_of(book, folder, now=NOW).materials[0]
    assert (before.each, before.weighed_plates) == (pytest.approx(8.0), 0)  # materials.toml
    assert (before.each_low, before.each_high) == (
        pytest.approx(8.0 / 10.0**0.5), pytest.approx(8.0 * 10.0**0.5),
    )  # fmt: skip
    use_stock(folder, "Iodine", 0.3)
    weigh_lot(folder, "Iodine", 9.2)  # 20 mg a plate
    with studio_book(folder, None) as book:
        after = needs_of(book, folder, now=NOW).materials[0]
    assert after.weighed_plates == 40
    assert after.each == pytest.approx(20.0, rel=0.02)
    assert after.each_high / after.each_low < 1.2
    assert after.month == pytest.approx(before.month * after.each / before.each)
    assert after.reorder_at > before.month  # more than a month's by the trade's figure
    use_stock(folder, "Iodine", 0.08)  # as the bench books ten plates more: 8 mg each
    with studio_book(folder, None) as book:
        later = needs_of(book, folder, now=NOW).materials[0]
    assert after.there == pytest.approx(9200.0)
    assert later.there == pytest.approx(9200.0 - 10.0 * after.each)


def test_plates_count_from_the_day_on_which_the_first_lot_was_opened(folder):
    """Ten plates before it, twenty from the first lot on, thirty once the second came."""
    days = [1] * 10 + [4] * 20 + [8] * 30
    plates = [Plate(new_id(), f"P{n}") for n in range(len(days))]
    came, opened = (NOW.date() - timedelta(days=30 - day) for day in (1, 3))
    new_lot(folder, "Iodine A", 10.0, "g", received_on=came, facts=LotFacts(opened_on=opened))
    new_lot(folder, "Iodine B", 10.0, "g", received_on=NOW.date() - timedelta(days=24))
    with studio_book(folder, None) as book:
        for plate in plates:
            add_plate(book, plate)
        made = [
            Making(new_id(), plate.id, None, "s", n, NOW.date() - timedelta(days=30 - day))
            for n, (plate, day) in enumerate(zip(plates, days, strict=True))
        ]
        add_makings(book, made)
    for name in ("Iodine A", "Iodine B"):
        weigh_lot(folder, name, 9.5)
    with studio_book(folder, None) as book:
        (found,) = needs_of(book, folder, now=NOW).materials
    assert found.weighed_plates == 50
    assert found.each == pytest.approx(20.0, rel=0.02)


def test_an_order_is_due_at_the_reorder_point_and_not_above(folder):
    new_lot(folder, "Cover glass", 100.0, "piece", facts=LotFacts(lead_days=10.0))
    with studio_book(folder, None) as book:
        least = needs_of(book, folder, month_plates=30.0, now=NOW).materials[0].reorder_at
    use_stock(folder, "Cover glass", 100.0 - least - 0.1)
    with studio_book(folder, None) as book:
        above = needs_of(book, folder, month_plates=30.0, now=NOW).materials[0]
    use_stock(folder, "Cover glass", 0.2)
    with studio_book(folder, None) as book:
        below = needs_of(book, folder, month_plates=30.0, now=NOW).materials[0]
    assert (above.order_now, below.order_now) == (False, True)
    assert below.order_by == NOW.date()


def test_what_runs_out_first_stands_first(folder):
    new_lot(folder, "Rouge", 500.0, "g")
    new_lot(folder, "Cover glass", 5.0, "piece")
    new_lot(folder, "Iodine", 1.0, "g")
    found = stock_needs(folder, month_plates=30.0).materials
    assert [one.material for one in found] == ["glass", "iodine", "rouge"]
    assert [one.material for one in stock_needs(folder, month_plates=0.0).materials] == [
        "rouge", "iodine", "glass",
    ]  # fmt: skip


def test_after_weeks_without_a_plate_tomorrow_is_still_one_of_the_thirty_days(folder):
    """Two plates tomorrow beside none in thirty days was a contradiction, and ordered nothing."""
    new_lot(folder, "Cover glass", 3.0, "piece", received_on=date(2026, 1, 1))
    plate = Plate(new_id(), "A")
    with studio_book(folder, None) as book:
        add_plate(book, plate)
        long_ago = NOW.date() - timedelta(days=200)
        made = [Making(new_id(), plate.id, None, "s", n, long_ago, grade="good") for n in (1, 2)]
        add_makings(book, made)
        found = needs_of(book, folder, now=NOW)
    assert (found.supposed, found.tomorrow_plates, found.month_plates) == (False, 2, 2.0)
    assert found.materials[0].month == pytest.approx(2.0)
    # as many as are asked for tomorrow count, and what is said of the month counts alone
    assert stock_needs(folder, plates=5).month_plates == 5.0
    assert stock_needs(folder, plates=5, month_plates=0.0).month_plates == 0.0


def test_without_a_pace_nothing_is_ordered(folder):
    new_lot(folder, "Cover glass", 6.0, "piece")
    (glass,) = stock_needs(folder).materials
    assert (glass.days_left, glass.order_by, glass.order_now, glass.order) == (
        None,
        None,
        False,
        0.0,
    )


@pytest.mark.parametrize("given", [{"plates": -1}, {"plates": 1001}, {"month_plates": -0.1}])
def test_numbers_out_of_range_are_refused(folder, given):
    with pytest.raises(BadInput, match="plates"):
        stock_needs(folder, **given)


def test_what_is_there_says_where_it_is_counted_pure(folder):
    new_lot(folder, "Iodine", 100.0, "g", facts=LotFacts(purity=0.998))
    new_lot(folder, "Gold chloride", 1.0, "g", facts=LotFacts(purity=1.0))
    found = {one.material: one for one in stock_needs(folder, plates=4).materials}
    assert there(found["iodine"]) == "99.8 g pure"
    assert there(found["gold"]) == "500 mg"


def test_pieces_are_ordered_whole(folder):
    new_lot(folder, "Cover glass", 3.0, "piece")
    (glass,) = stock_needs(folder, plates=3, month_plates=7.0).materials
    assert glass.order_now
    assert glass.order == int(glass.order) > 7.0


def test_a_weighing_that_was_taken_back_teaches_nothing(folder):
    with studio_book(folder) as book:
        add_plate(book, Plate("p", "P1"))
        today = today_of(folder)
        add_makings(book, [Making(new_id(), "p", None, "s", 1, today)])
    new_lot(folder, "Iodine", 100.0, "g")
    (before,) = stock_needs(folder, plates=3).materials
    weigh_lot(folder, "Iodine", 90.0)
    assert stock_needs(folder, plates=3).materials[0].each > before.each
    undo_lot(folder, "Iodine")
    (after,) = stock_needs(folder, plates=3).materials
    assert (after.each, after.weighed_plates) == (before.each, 0)
    weigh_lot(folder, "Iodine", 95.0)
    use_stock(folder, "Iodine", 1.0)
    undo_lot(folder, "Iodine")  # takes back the use, and not the weighing before it
    assert stock_needs(folder, plates=3).materials[0].weighed_plates == 1


def test_a_lot_does_as_many_plates_as_the_need_for_each_of_them_lets_it(folder):
    """A box that leaks uses up far more iodine than the trade's amount: one number by each door."""
    with studio_book(folder) as book:
        add_plate(book, Plate("p", "P1"))
        today = today_of(folder)
        add_makings(book, [Making(new_id(), "p", None, f"s{n}", 1, today) for n in range(9)])
    new_lot(folder, "Iodine", 10.0, "g", facts=LotFacts(purity=0.5))
    before = list_stock(folder).lots[0]
    now = weigh_lot(folder, "Iodine", 8.0)
    (needed,) = stock_needs(folder, plates=1).materials
    assert now.plates_left == pytest.approx(needed.there / needed.each)
    assert now.plates_left_low < now.plates_left < now.plates_left_high < before.plates_left
    assert now.plates_left_high == pytest.approx(needed.there / needed.each_low)
    assert (before.runs_out, now.runs_out) == (False, False)
    assert weigh_lot(folder, "Iodine", 0.2).runs_out  # no more than one of the one looked ahead
