"""What one failure less in ten saves, with the range that a few plates leave."""

import pytest

from argentry.keeping.stock.one_less import one_less


def ends(plates, good):
    found = one_less(float(plates), plates, good)
    return found.per_good_low, found.per_good, found.per_good_high


def test_without_a_good_plate_nothing_is_known():
    assert one_less(100.0, 5, 0).per_good is None
    assert one_less(0.0, 0, 0).low is None


def test_the_range_is_that_of_the_share_of_good_plates():
    """By the distribution function of scipy.stats; the code takes a quantile of another room."""
    from scipy.stats import beta

    for plates, good in ((4, 2), (10, 1), (30, 24)):
        low, middle, high = ends(plates, good)
        assert low < middle < high
        for saved, share in ((low, 0.9), (high, 0.1)):
            # a plate costs 1 here: saved = 1 / p - 1 / (p + .1) has one root p
            p = (-0.1 + (0.01 + 0.4 / saved) ** 0.5) / 2.0
            known = beta.cdf(p, good + 0.5, plates - good + 0.5)
            assert known == pytest.approx(share, abs=1e-6)


def test_more_plates_leave_less_open_and_all_good_leaves_nothing_seen():
    few, many = ends(5, 3), ends(50, 30)
    assert many[1] == pytest.approx(few[1])
    assert many[2] - many[0] < 0.5 * (few[2] - few[0])
    low, middle, high = ends(6, 6)
    assert low == middle == 0.0
    assert high > 0.0
