"""Checks and settings of decide.toml: whole, and in step with steps and conditions."""

import pytest

from argentry import trade
from argentry.errors import ArgentryError
from argentry.trade import decide
from argentry.trade.conditions import conditions
from argentry.trade.decide import known_checks, settings, ways_back
from argentry.trade.steps import step, steps


def test_settings_stay_within_keeping_times_and_steps():
    within = settings()
    assert within["coat_to_exposure_minutes"].high <= step("expose").start_within_minutes
    assert within["exposure_to_development_minutes"].high <= step("to_frame").start_within_minutes
    assert within["development_minutes"].low >= step("develop").low_minutes
    assert within["development_minutes"].high <= step("develop").high_minutes
    assert within["gilding_minutes"].high <= step("gild").high_minutes


def test_the_usual_value_lies_within_the_limits():
    for condition in conditions():
        if condition.key in settings():
            setting = settings()[condition.key]
            assert setting.low <= condition.centre <= setting.high, condition.key


def test_checks_are_cheap_and_in_the_order_of_the_work():
    assert [check.stage for check in known_checks()] == ["polish", "coat", "exposure"]
    assert all(0 < check.minutes <= 5 for check in known_checks())


def test_the_way_back_takes_the_minutes_that_a_redoing_is_calculated_at():
    order = [rule.key for rule in steps()]
    last = {"polish": "final_buff", "coat": "iodise"}
    assert set(ways_back()) == set(last)
    for stage, way in ways_back().items():
        again = order[order.index(way.step) : order.index(last[stage]) + 1]
        minutes = sum(step(key).typical_minutes for key in again)
        # the setting up comes on top
        assert minutes <= trade.value("decide", f"redo_{stage}_minutes") <= minutes + 5.0


@pytest.mark.parametrize(
    ("kind", "change", "match"),
    [
        (decide.KnownCheck, {"basis": "hearsay"}, "unknown basis"),
        (decide.KnownCheck, {"extra": 1}, "unknown fields"),
        (decide.Setting, {"key": "x"}, "missing or unknown fields"),
        (decide.WayBack, {"step": "dance"}, "missing or unknown fields"),
    ],
)
def test_a_bad_entry_is_told(kind, change, match):
    entry = dict(trade.toml("decide")["check"][0]) | change
    with pytest.raises(ArgentryError, match=match):
        decide._made(kind, entry)
