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


def weekends(day):
    return 3 if day.weekday() >= 5 else 0


def test_certainty_is_reached_and_not_with_one_plate_less():
    got = need(6, FIRST, BY, BetaChance(10, 10, 20), weekends, COST)
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
    got = need(6, FIRST, dt.date(2026, 3, 8), BetaChance(10, 10, 20), weekends, COST)
    assert got.start == 6
    assert not got.enough_days
    assert got.plates_needed == 19
    assert got.certainty == pytest.approx(at_least(6, 6, BetaChance(10, 10)))
    assert "90 % would need 19" in got.words


def test_no_day_at_all():
    got = need(2, FIRST, FIRST, BetaChance(5, 5), lambda _: 0, COST)
    assert (got.start, got.certainty, got.days) == (0, 0.0, ())
    assert got.cost.money == got.cost.expected_money == 0.0
    assert "No day" in got.words


def test_a_beginner_cannot_promise():
    got = need(50, FIRST, dt.date(2030, 1, 1), BetaChance(0.2, 5.0), lambda _: 5, COST)
    assert got.plates_needed is None
    assert not got.enough_days
    assert got.mostly_prior
    assert "cannot be promised" in got.words
    assert "mostly starting assumptions" in got.words


def test_the_season_decides_the_days():
    def light(day):
        return 0 if day.month < 4 else 2

    got = need(2, FIRST, BY, DrawnChance([0.5], 30), light, COST)
    assert got.days[0].date == dt.date(2026, 4, 1)
    assert not got.mostly_prior


def test_cost_of_all_and_of_those_really_begun():
    got = need(3, FIRST, BY, DrawnChance([0.5]), weekends, COST).cost
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
        lambda: need(0, FIRST, BY, BetaChance(1, 1), weekends, COST),
        lambda: need(300, FIRST, BY, BetaChance(1, 1), weekends, COST),
        lambda: need(1, BY, FIRST, BetaChance(1, 1), weekends, COST),
        lambda: need(1, FIRST, dt.date(2050, 1, 1), BetaChance(1, 1), weekends, COST),
        lambda: need(1, FIRST, BY, BetaChance(1, 1), weekends, COST, certainty=1.0),
        lambda: need(1, FIRST, BY, BetaChance(1, 1), weekends, COST, certainty=np.nan),
        lambda: need(1, FIRST, BY, DrawnChance([1.2]), weekends, COST),
        lambda: need(1, FIRST, BY, DrawnChance([np.nan]), weekends, COST),
        lambda: need(1, FIRST, BY, DrawnChance([]), weekends, COST),
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
    is_taken_within(lambda n: need(n, FIRST, BY, sure, weekends, COST), 1, 200, step=1)
    last = FIRST + dt.timedelta(days=3660)
    assert need(1, FIRST, last, sure, weekends, COST).certainty == 1.0
    with pytest.raises(BadInput, match="more than ten years away"):
        need(1, FIRST, last + dt.timedelta(days=1), sure, weekends, COST)
