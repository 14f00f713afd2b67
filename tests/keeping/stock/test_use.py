"""What a plate uses up, against the normal model written out: prior and weighing, weighted."""

from math import exp, log
from types import SimpleNamespace

import pytest
from scipy.stats import norm

from argentry.keeping.stock.use import _use
from argentry.trade.facts import value

EACH = SimpleNamespace(key="iodine", amount=2.0, low=1.0, high=5.0)
LOTS = [
    SimpleNamespace(id="a", used=30.0, each=1.0),
    SimpleNamespace(id="b", used=20.0, each=0.5),  # half as pure
]
PRIOR = log(5.0) / (2.0 * norm.ppf(0.9))


def test_before_a_weighing_the_trades_range():
    found = _use(EACH, LOTS, {}, 4)
    assert (found.middle, found.plates, found.unseen) == (pytest.approx(2.0), 0, 0.0)
    assert found.high / found.low == pytest.approx(5.0)
    assert found.share == pytest.approx(PRIOR, rel=1e-4)


def test_a_weighing_counts_by_its_plates():
    found = _use(EACH, LOTS, {"a": 20.0, "b": 10.0}, 9)  # 25 of it went in nine plates
    told = value("stock", "use_scatter") ** 2 / 9.0
    precise = 1.0 / PRIOR**2 + 1.0 / told
    centre = (log(2.0) / PRIOR**2 + log(25.0 / 9.0) / told) / precise
    assert log(found.middle) == pytest.approx(centre, rel=1e-4)
    assert found.share == pytest.approx(precise**-0.5, rel=1e-4)
    assert found.high == pytest.approx(exp(centre + norm.ppf(0.9) * precise**-0.5), rel=1e-4)
    assert found.low == pytest.approx(exp(centre - norm.ppf(0.9) * precise**-0.5), rel=1e-4)
    assert found.plates == 9
    # what was booked since, by the trade's two each: 10 of a and 5 pure of b
    assert found.unseen == pytest.approx(15.0 * (found.middle / 2.0 - 1.0))


def test_a_tray_is_booked_as_it_was_mixed_so_that_nothing_of_it_goes_unseen():
    tray = SimpleNamespace(**{**vars(EACH), "key": "fixer"})
    found, other = (_use(one, LOTS, {"a": 20.0, "b": 10.0}, 9) for one in (tray, EACH))
    assert (found.middle, found.unseen) == (other.middle, 0.0)
    assert other.unseen > 0.0


def test_less_than_was_booked_leaves_nothing_unseen():
    assert _use(EACH, LOTS, {"a": 5.0}, 10).unseen == 0.0


def test_a_weighing_of_nothing_or_before_any_plate_teaches_nothing():
    for gone, plates in (({"a": 0.0}, 5), ({"a": 20.0}, 0)):
        found = _use(EACH, LOTS, gone, plates)
        assert (found.middle, found.plates) == (pytest.approx(2.0), 0)
