"""How the studio works of late."""

from types import SimpleNamespace

import numpy as np
import pytest

from argentry.learn.deciding.recent_settings import chance_of, settings_spread, usual_settings
from argentry.trade.conditions import conditions

CONDITIONS = {condition.key: condition for condition in conditions()}


def test_usual_settings_are_medians_of_late():
    condition = CONDITIONS["gilding_minutes"]
    doubled = CONDITIONS["fuming_seconds_20c"]
    x = np.array([[9.0, 1.0]] * 5 + [[0.0, np.nan], [1.0, 1.0]] * 6)
    seen = []

    def chances(known, session, *, averaged):
        seen.append((known, session, averaged))
        return np.full(3, 0.5)

    stage = SimpleNamespace(
        table=SimpleNamespace(conditions=(condition, doubled), x=x), chances=chances
    )
    fitted = SimpleNamespace(stages={"finish": stage}, sessions=("1", "2"))
    usual = usual_settings(fitted)
    assert usual["gilding_minutes"] == pytest.approx(
        condition.centre + 0.5 * condition.width, rel=0.03
    )
    assert usual["fuming_seconds_20c"] == pytest.approx(2 * doubled.centre)
    low, middle, high = settings_spread(fitted)["gilding_minutes"]
    assert middle == pytest.approx(condition.centre + 0.5 * condition.width)
    # six of the last twelve at either of two values
    assert (low, high) == pytest.approx((condition.centre, condition.centre + condition.width))
    assert chance_of(fitted)("finish", {"gilding_minutes": 4.5}) == pytest.approx(0.5)
    assert seen == [({"gilding_minutes": 4.5}, 2, True)]  # a setting is kept through all luck
