"""How many plates to begin, on which days, at what cost."""

import datetime as dt

import numpy as np
import pytest
from tests.edges import is_taken_within

from argentry.errors import BadInput
from argentry.plan.batch import need, usual_plate_cost
from argentry.plan.batch_odds import BetaChance, DrawnChance, at_least

FIRST, BY = dt.date(2026, 3, 2), dt.date(2026, 5, 31)
COST = usual_plate_cost(89.1, 3.0, 11.2)


def by_day(holds, first=FIRST, by=BY):
    """The plates of each day in one weather year."""
    days = (by - first).days + 1
    return np.array([[holds(first + dt.timedelta(days=at)) for at in range(days)]])


def of_weekend(day):
    return 3 if day.weekday() >= 5 else 0


WEEKENDS = by_day(of_weekend)


def test_certainty_is_reached_and_not_with_one_plate_less():
    got = need(6, FIRST, BY, BetaChance(10, 10, 20), WEEKENDS, COST)
    assert got.start == 19
    assert got.certainty >= 0.9 > at_least(6, 18, BetaChance(10, 10))
    assert got.enough_days
    assert sum(day.plates for day in got.days) == 19
    assert all(day.date.weekday() >= 5 and 1 <= day.plates <= 3 for day in got.days)
    assert [day.date for day in got.days] == sorted(day.date for day in got.days)
    assert "Begin 19 for 6 good plates" in got.words
    assert "38 to" in got.words or "36 to" in got.words
    assert "20 plates" in got.words


def test_too_few_days_are_told_with_what_they_give():
    got = need(6, FIRST, dt.date(2026, 3, 8), BetaChance(10, 10, 20), WEEKENDS[:, :7], COST)
    assert got.start == 6
    assert not got.enough_days
    assert got.plates_needed == 19
    assert got.certainty == pytest.approx(at_least(6, 6, BetaChance(10, 10)))
    assert "90 % would need 19" in got.words


def test_no_day_at_all():
    got = need(2, FIRST, FIRST, BetaChance(5, 5), np.zeros((1, 1), int), COST)
    assert (got.start, got.certainty, got.days) == (0, 0.0, ())
    assert got.cost.money == got.cost.expected_money == 0.0
    assert "No day" in got.words


def test_a_beginner_cannot_promise():
    far = dt.date(2030, 1, 1)
    got = need(50, FIRST, far, BetaChance(0.2, 5.0), by_day(lambda _: 5, by=far), COST)
    assert got.plates_needed is None
    assert not got.enough_days
    assert got.mostly_prior
    assert "cannot be promised" in got.words
    assert "mostly starting assumptions" in got.words


def test_the_season_decides_the_days():
    def light(day):
        return 0 if day.month < 4 else 2

    got = need(2, FIRST, BY, DrawnChance([0.5], 30), by_day(light), COST)
    assert got.days[0].date == dt.date(2026, 4, 1)
    assert not got.mostly_prior


def test_cost_of_all_and_of_those_really_begun():
    got = need(3, FIRST, BY, DrawnChance([0.5]), WEEKENDS, COST).cost
    assert got.hours == pytest.approx(9 * 3.0)
    assert got.money == pytest.approx(9 * COST.money)
    assert got.gold_mg == pytest.approx(9 * 11.2)
    # brute force: how many of nine are begun until the third good one
    rng = np.random.default_rng(1)
    good = np.cumsum(rng.random((40000, 9)) < 0.5, axis=1)
    begun = np.where(good[:, -1] >= 3, np.argmax(good >= 3, axis=1) + 1, 9)
    assert got.expected_plates == pytest.approx(begun.mean(), abs=0.03)
    assert (got.plates_low, got.plates_high) == tuple(np.quantile(begun, [0.1, 0.9]))
    assert got.expected_hours == pytest.approx(got.expected_plates * 3.0)


def test_cost_of_a_plate_by_hand():
    # 89.1 cm2 x 10 um x 10.49 g/cm3 = 0.9347 g; at 1 EUR/g, 11.2 mg gold at 95 EUR/g, 8 EUR more
    assert COST.silver_g == pytest.approx(0.9347, abs=1e-4)
    assert COST.money == pytest.approx(0.9347 + 1.064 + 8.0, abs=1e-3)
    own = usual_plate_cost(89.1, 3.0, 0.0, silver_um=20.0, prices=(2.0, 0.0, 0.0))
    assert own.money == pytest.approx(2 * 2 * 0.9347, abs=1e-3)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: need(0, FIRST, BY, BetaChance(1, 1), WEEKENDS, COST),
        lambda: need(300, FIRST, BY, BetaChance(1, 1), WEEKENDS, COST),
        lambda: need(1, BY, FIRST, BetaChance(1, 1), WEEKENDS, COST),
        lambda: need(1, FIRST, dt.date(2050, 1, 1), BetaChance(1, 1), WEEKENDS, COST),
        lambda: need(1, FIRST, BY, BetaChance(1, 1), WEEKENDS, COST, certainty=1.0),
        lambda: need(1, FIRST, BY, BetaChance(1, 1), WEEKENDS, COST, certainty=np.nan),
        lambda: need(1, FIRST, BY, DrawnChance([1.2]), WEEKENDS, COST),
        lambda: need(1, FIRST, BY, DrawnChance([np.nan]), WEEKENDS, COST),
        lambda: need(1, FIRST, BY, DrawnChance([]), WEEKENDS, COST),
        lambda: BetaChance(0.0, 1.0),
        lambda: usual_plate_cost(0.0, 1.0, 1.0),
        lambda: usual_plate_cost(89.1, 1.0, 1.0, prices=(-1.0, 0.0, 0.0)),
    ],
)
def test_bad_input(wrong):
    with pytest.raises(BadInput):
        wrong()


@pytest.mark.parametrize(
    ("call", "low", "high"),
    [
        (lambda x: usual_plate_cost(x, 1.0, 1.0), 1.0, 5000.0),
        (lambda x: usual_plate_cost(89.1, x, 1.0), 0.0, 100.0),
        (lambda x: usual_plate_cost(89.1, 1.0, x), 0.0, 1e4),
        (lambda x: usual_plate_cost(89.1, 1.0, 1.0, silver_um=x), 0.0, 500.0),
        *[
            (lambda x, n=n: usual_plate_cost(
                89.1, 1.0, 1.0, prices=tuple(x if i == n else 1.0 for i in range(3))), 0.0, 1e8)
            for n in range(3)
        ],
    ],
)  # fmt: skip
def test_numbers_of_a_plates_cost_go_so_far(call, low, high):
    is_taken_within(call, low, high)


def test_a_batch_is_of_1_to_200_plates_within_ten_years():
    sure = DrawnChance([1.0])
    is_taken_within(lambda n: need(n, FIRST, BY, sure, WEEKENDS, COST), 1, 200, step=1)
    last = FIRST + dt.timedelta(days=3660)
    held = by_day(of_weekend, by=last)
    assert need(1, FIRST, last, sure, held, COST).certainty == 1.0
    with pytest.raises(BadInput, match="more than ten years away"):
        need(1, FIRST, last + dt.timedelta(days=1), sure, held, COST)


def test_dull_years_count_against_the_certainty_and_tell_when_the_last_is_begun():
    rng = np.random.default_rng(5)
    held = np.where(rng.random((20, 60)) < 0.4, 1, 0)
    by = FIRST + dt.timedelta(days=59)
    got = need(4, FIRST, by, DrawnChance([0.5], 30), held, COST, certainty=0.85)
    # brute force: the plates of each year, good by a coin, as many as are begun in it
    made = np.minimum(held.sum(axis=1), got.start)
    drawn = rng.random((4000, 20, int(made.max()))) < 0.5
    good = (drawn & (np.arange(made.max()) < made[:, None])).sum(axis=2)
    assert got.certainty == pytest.approx((good >= 4).mean(), abs=0.01)
    assert got.certainty >= 0.85
    one_less = np.minimum(made, got.start - 1)
    assert ((drawn & (np.arange(made.max()) < one_less[:, None])).sum(axis=2) >= 4).mean() < 0.85
    ends = sorted(
        int(np.argmax(year.cumsum() >= got.start)) if year.sum() >= got.start else 999
        for year in held
    )
    assert got.last_low == FIRST + dt.timedelta(days=ends[2])
    assert got.last_high == FIRST + dt.timedelta(days=ends[18])
    assert f"the last is begun between {got.last_low} and {got.last_high}" in got.words
    assert got.days[-1].date <= got.last_low, "the table's days all have light"


def test_a_season_too_dull_is_told_from_one_too_short():
    held = np.ones((10, 40), dtype=int)
    held[:3, 5:] = 0  # three years of ten end after five days
    got = need(8, FIRST, FIRST + dt.timedelta(days=39), DrawnChance([1.0], 30), held, COST)
    assert (got.start, got.certainty, got.enough_days) == (8, pytest.approx(0.7), False)
    assert "Begin 8 for 8 good plates by 2026-04-10: with 70 % certainty" in got.words
    assert "as too many years are too dull by then for 90 %" in got.words
    assert "and in more than one year of ten not by" in got.words
    assert got.last_high is None
    short = need(8, FIRST, FIRST + dt.timedelta(days=4), DrawnChance([0.9], 30), held[:, :5], COST)
    assert "The days until 2026-03-06 hold 5 plates" in short.words
    assert "90 % would need" in short.words
    assert (short.last_low, short.last_high) == (FIRST + dt.timedelta(days=4),) * 2
