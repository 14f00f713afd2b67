"""One share of good plates for `need` and the day, one chance of a plate for every door."""

from dataclasses import replace
from datetime import date

import pytest
from tests.bench_studio import studio

from argentry.day.good_count import good_share
from argentry.desk.learning.batch import plates_needed
from argentry.desk.learning.causes import learned
from argentry.desk.numbers.good_odds import good_odds
from argentry.desk.numbers.makings import Gathered
from argentry.desk.numbers.own_numbers import learned_numbers
from argentry.records.plate import Making


def gathered(*grades, **habits):
    own = studio()
    own = replace(own, habits=replace(own.habits, **habits))
    made = tuple(
        Making(f"m{n}", f"p{n}", None, n, 1, date(2026, 3, 1 + n), grade=grade)
        for n, grade in enumerate(grades)
    )
    return Gathered(made, {}, {}, {}, "the book", (), own)


CASES = {
    "no plate": (gathered(), 0.5),
    "no plate, but the studio file knows": (gathered(good_share=0.7, good_share_plates=44), 0.676),
    "graded plates count alone": (
        gathered("lost", "good", "lost", good_share=0.7, good_share_plates=38), 0.4
    ),
}  # fmt: skip


@pytest.mark.parametrize(("plates", "share"), CASES.values(), ids=CASES)
def test_the_day_need_and_all_that_was_learned_tell_one_share(plates, share):
    numbers = learned_numbers(plates)
    told, _ = good_share(plates.studio, numbers.good)
    assert told.middle == pytest.approx(share, abs=0.005 if not plates.makings else 0.08)
    page = learned(plates).odds
    assert (told.low, told.middle, told.high) == (page.low, page.probability, page.high)
    needed = plates_needed(plates, 1, date(2026, 6, 1), date(2026, 6, 2), a_day=1, weekdays=["sun"])
    many = numbers.good.many
    assert (needed.chance_low, needed.chance, needed.chance_high) == (
        many.low, many.probability, many.high
    )  # fmt: skip
    assert needed.chance == pytest.approx(told.middle, abs=0.02)
    # a plate differs from the others: its own chance is known less well than their share
    assert told.low < many.low < many.high < told.high


def test_what_a_studio_file_tells_is_told_as_its_own():
    plates = gathered(good_share=0.7, good_share_plates=44)
    assert good_share(plates.studio, good_odds(plates)[0])[1] == 44
    assert good_share(plates.studio, good_odds(gathered("good"))[0])[1] == 1
