"""What was gone from a lot when it was noted falls to the plates made until then."""

from datetime import date, timedelta

import pytest

from argentry.keeping.stock.gone_before import gone_in
from argentry.records.material import Lot

BEGUN, NOTED = date(2026, 1, 1), date(2026, 4, 10)  # a hundred days
LOT = Lot("a", "Iodine", 100.0, "g", "", BEGUN, 40.0)
FIRST, LAST = date(2026, 3, 1), date(2026, 12, 31)
EARLY = [BEGUN + timedelta(days=7 * week) for week in range(6)]


@pytest.mark.parametrize(
    ("made", "share"),
    [
        ([*EARLY, date(2026, 3, 7), date(2026, 4, 10)], 2 / 8),
        ([*EARLY, date(2026, 4, 11), date(2025, 12, 31)], 0.0),  # not while the lot was in use
        ([], 41 / 100),  # by days: 1 March to 10 April
    ],
)
def test_it_is_spread_over_the_plates_of_its_days_or_over_the_days(made, share):
    gone = {LOT.id: (40.0, NOTED)}
    assert gone_in([LOT], {}, gone, made, FIRST, LAST) == {LOT.id: pytest.approx(40.0 * share)}
    before = gone_in([LOT], {}, gone, made, date(2025, 1, 1), date(2026, 2, 28))
    assert before[LOT.id] == pytest.approx(40.0 * (1.0 - share))  # nothing lost between spans


def test_a_lot_of_which_nothing_was_gone_is_left_out():
    assert gone_in([LOT], {}, {}, EARLY, FIRST, LAST) == {}
