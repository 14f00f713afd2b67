"""How the studio works of late."""

from types import SimpleNamespace

import numpy as np
import pytest

from argentry.learn.deciding.recent_settings import (
    chance_of,
    plate_of,
    settings_spread,
    stages_named,
    usual_settings,
)
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


def test_a_setting_that_is_named_is_judged_by_the_whole_plate_as_surely_as_it_is_named():
    """In 1 draw of 5 the wait matters to the plate; looks make it 4 of 5, and never fewer."""
    wait, other = (CONDITIONS[key] for key in ("coat_to_exposure_minutes", "buff_minutes"))
    sides = [SimpleNamespace(column=0), SimpleNamespace(column=0), SimpleNamespace(column=1)]
    effect = np.zeros((100, 3))
    effect[:10, 0], effect[10:20, 1], effect[40:90, 2] = 1.0, -1.0, 1.0
    whole = SimpleNamespace(
        view=SimpleNamespace(sides=sides, table=SimpleNamespace(conditions=(wait, other))),
        effect=effect,
        chances=lambda known, averaged: np.where(effect[:, :2].any(axis=1), 0.9, known["was"]),
    )

    def fitted(named, probability):
        row = SimpleNamespace(named=named, probability=probability, conditions=(wait.key,))
        causes = SimpleNamespace(causes=(row,))
        return SimpleNamespace(whole=whole, causes=causes, unbooked=0.75)

    for said, believed in ((0.8, 0.8), (0.1, 0.2)):
        told = plate_of(fitted(True, said))
        assert (told.share, [*told.asked]) == (0.75, [wait.key])
        draws = told.chance(wait.key, {"was": 0.5})
        assert (draws == 0.9).mean() == pytest.approx(believed)
        assert draws.size == 100
    assert not plate_of(fitted(False, 0.5)).asked
    assert plate_of(SimpleNamespace(**{**vars(fitted(True, 0.8)), "whole": None})) is None


def test_a_condition_spoils_the_stage_at_which_it_is_named_most_surely():
    def row(stage, probability, named=True):
        return SimpleNamespace(
            stage=stage, probability=probability, named=named, conditions=("buff_minutes",)
        )

    rows = (row("coat", 0.7), row("development", 0.9), row("polish", 0.65), row("finish", 1, False))
    fitted = SimpleNamespace(causes=SimpleNamespace(causes=rows))
    assert stages_named(fitted) == {"buff_minutes": "development"}
