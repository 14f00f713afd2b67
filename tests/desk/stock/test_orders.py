"""What the coming days need against what is there, and what must be ordered by when."""

from datetime import UTC, date, datetime, timedelta

import pytest

from argentry import trade
from argentry.book.plates import add_makings, add_plate
from argentry.desk.book import studio_book
from argentry.desk.stock.lots import new_lot
from argentry.desk.stock.orders import needs_of, stock_needs
from argentry.desk.studio import new_studio
from argentry.errors import BadInput
from argentry.records.ids import new_id
from argentry.records.plate import LotFacts, Making, Plate

NOW = datetime(2026, 6, 21, 12, tzinfo=UTC)


@pytest.fixture
def folder(tmp_path):
    new_studio(tmp_path / "studio", {})
    return tmp_path / "studio"


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
    assert "iodine" in found.never_stocked


def test_an_order_is_due_when_lead_time_and_spare_are_used_up(folder):
    facts = LotFacts(price=50.0, lead_days=10.0)
    received = date(2026, 6, 1)
    new_lot(
        folder, "Cover glass", 100.0, "piece", supplier="a shop", facts=facts, received_on=received
    )
    with studio_book(folder, None) as book:
        calm = needs_of(book, folder, month_plates=30.0, now=NOW).materials[0]
        spare = trade.value("stock", "order_spare")
        assert calm.order_by == NOW.date() + timedelta(days=int(100 - 10 - spare))
        assert not calm.order_now
        assert calm.order == pytest.approx(max(trade.value("stock", "order_for") + 10.0 - 100.0, 0))
        due = needs_of(book, folder, month_plates=300.0, now=NOW).materials[0]
    assert due.order_now
    assert due.order == pytest.approx(10.0 * (trade.value("stock", "order_for") + 10.0) - 100.0)
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
