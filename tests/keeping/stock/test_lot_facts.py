"""What may be noted of a lot, to its last value."""

from datetime import date
from math import inf, nextafter

import pytest

from argentry.errors import BadInput
from argentry.keeping.stock.lot_facts import check_facts
from argentry.records.material import LotFacts

DAY = date(2024, 3, 2)


@pytest.mark.parametrize(
    ("name", "most"),
    [("purity", 1.0), ("price", 1e8), ("lead_days", 1000.0)],
)
def test_each_number_has_its_most(name, most):
    check_facts(LotFacts(**{name: most}), DAY, None)
    for wrong in (nextafter(most, inf), -0.001):
        with pytest.raises(BadInput, match="--" + name.replace("_", "-")):
            check_facts(LotFacts(**{name: wrong}), DAY, None)


def test_what_costs_nothing_or_comes_at_once_may_be_but_nothing_pure_may_not():
    check_facts(LotFacts(price=0.0, lead_days=0.0), DAY, None)
    with pytest.raises(BadInput, match="--purity"):
        check_facts(LotFacts(purity=0.0), DAY, None)


@pytest.mark.parametrize(
    ("name", "where"), [("opened_on", "--opened"), ("expires_on", "--expires")]
)
def test_no_day_lies_before_it_came_in(name, where):
    check_facts(LotFacts(**{name: DAY}), DAY, None)
    with pytest.raises(BadInput, match=f"{where}.*2024-03-02 or a later day"):
        check_facts(LotFacts(**{name: date(2024, 3, 1)}), DAY, None)


def test_nothing_was_opened_on_a_day_to_come():
    """A bottle opened in 9999 was kept without a word, and the bench took from it."""
    check_facts(LotFacts(expires_on=date(9999, 1, 1)), DAY, None)
    with pytest.raises(BadInput, match="--opened: 9999-01-01 is in the future"):
        check_facts(LotFacts(opened_on=date(9999, 1, 1)), DAY, None)
