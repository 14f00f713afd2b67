"""Shares in percent, as every screen and sheet says them."""

from __future__ import annotations

import math

from argentry.needs.doubt.percent import good_share, percent, percent_range
from argentry.records.day import Range


def test_percent_is_never_more_sure_than_its_days():
    assert percent(1.0, 300) == ">99 %"
    assert percent(0.0, 300) == "<1 %"
    assert percent(0.999) == ">99 %"
    assert percent(1.0) == "100 %"
    assert percent(0.914) == "91 %"
    assert percent(math.nan) == "–"
    assert percent_range(Range(0.42, 0.58, 0.73)) == "58 % (42–73)"


def test_a_good_share_says_what_stands_behind_it_and_one_range():
    assert good_share(Range(0.42, 0.58, 0.73), "3 plates") == "58 % good (42–73; 3 plates)"
    assert good_share(Range(1e-3, 2e-3, 4e-3), "no plate yet") == "<1 % good (no plate yet)"
