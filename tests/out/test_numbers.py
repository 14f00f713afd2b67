"""Which of the studio's own numbers an answer used, in words."""

from datetime import date

import pytest

from argentry.out.numbers import numbers_line
from argentry.records.needs import NumberInUse

DAY = date(2026, 6, 20)


def learned(**changes):
    row = {"what": "box_factor", "value": 1.21, "low": 1.13, "high": 1.29, "unit": "1"}
    more = {"source": "learned", "plates": 4, "day": DAY, "before": 1.14}
    return NumberInUse(**{**row, **more, **changes})


@pytest.mark.parametrize(
    ("before", "words"),
    [(1.14, "(1.14 before that day)"), (1.212, "(the same before that day)")],
)
def test_a_learned_number_is_told_with_what_it_was_before_its_last_day(before, words):
    line = numbers_line([learned(before=before)], as_written=False)
    assert line == (
        f"Learned from your plates: box factor 1.21 (1.13–1.29), 4 plates, last 2026-06-20 {words}."
    )


def test_what_was_not_learned_says_where_it_comes_from():
    row = learned(source="trade", plates=0, day=None, before=None)
    line = numbers_line([row], as_written=False)
    assert line.startswith("No number learned from your plates is used: box factor 1.21")
    assert line.endswith("the trade's starting value.")
    assert numbers_line([row], as_written=True).startswith("Numbers learned from your plates are")
