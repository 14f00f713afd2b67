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

    def chances(known, session, *, averaged, by_sets):
        seen.append((known, session, averaged, by_sets))
        return np.full(3, 0.5)

    stage = SimpleNamespace(
        table=SimpleNamespace(conditions=(condition, doubled), x=x), chances=chances
    )
    fitted = SimpleNamespace(stages={"finish": stage}, sessions=("1", "2"), named=frozenset())
    usual = usual_settings(fitted)
    assert usual["gilding_minutes"] == pytest.approx(
        condition.centre + 0.5 * condition.width, rel=0.03
    )
    assert usual["fuming_seconds_20c"] == pytest.approx(2 * doubled.centre)
    # six of the last twelve at either of two values
    low, high = condition.centre, condition.centre + condition.width
    assert settings_spread(fitted)["gilding_minutes"] == pytest.approx([low] * 3 + [high] * 3)
    assert chance_of(fitted)("finish", {"gilding_minutes": 4.5}) == pytest.approx(0.5)
    # a setting is kept through all luck
    assert seen == [({"gilding_minutes": 4.5}, 2, True, False)]
    named = SimpleNamespace(**{**vars(fitted), "named": frozenset({"finish"})})
    chance_of(named)("finish", {})
    assert seen[-1] == ({}, 2, True, True)  # a cause named is believed


def test_a_bath_is_usual_as_it_was_over_several_renewals():
    condition = CONDITIONS["fixer_age_days"]
    old, fresh = 8.0, 1.0
    x = np.array([[old]] * 24 + [[fresh]] * 12)
    x = (x - condition.centre) / condition.width
    stage = SimpleNamespace(table=SimpleNamespace(conditions=(condition,), x=x))
    fitted = SimpleNamespace(stages={"finish": stage})
    assert settings_spread(fitted)["fixer_age_days"] == pytest.approx([fresh] * 2 + [old] * 4)
    assert usual_settings(fitted)["fixer_age_days"] == pytest.approx(old)
