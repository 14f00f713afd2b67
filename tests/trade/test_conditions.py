"""Conditions are complete, and a wrong entry is refused by name."""

import pytest

from argentry.errors import ArgentryError
from argentry.trade import conditions as module
from argentry.trade.conditions import FORMS, conditions, drifts, stage_priors, strengths

GOOD = {
    "key": "made_up",
    "stage": "coat",
    "title": "made up",
    "form": "more is worse",
    "scale": "plain",
    "centre": 1.0,
    "width": 1.0,
    "unit": "1",
    "effect_low": 0.1,
    "effect_middle": 0.2,
    "effect_high": 0.4,
    "inclusion": 0.2,
    "columns": ["box_c"],
    "basis": "seed",
    "source": "invented",
}


def test_every_condition_names_its_source_and_can_be_told_apart():
    keys = [condition.key for condition in conditions()]
    assert len(keys) == len(set(keys))
    assert {condition.form for condition in conditions()} == set(FORMS)
    assert all(condition.source and condition.columns for condition in conditions())


def test_directions_are_those_of_the_trade():
    sign = {condition.key: condition.sign for condition in conditions()}
    assert sign["room_rh_pct"] == sign["water_us_cm"] == sign["fixer_plates"] == -1
    assert sign["buff_minutes"] == sign["dew_margin_k"] == 1
    assert sign["coat_nm"] == sign["exposure_stops"] == sign["cloud_okta"] == 0


def test_share_of_a_stage_as_probit():
    mean, sd = stage_priors()["coat"].probit
    assert mean == pytest.approx(1.2816, abs=1e-3)  # Phi(1.2816) = 0.9
    assert sd > 0.0


def test_shares_add_up():
    assert sum(drifts().values()) == pytest.approx(1.0)
    assert sum(strengths().values()) == pytest.approx(1.0)


def test_a_good_entry_is_read():
    assert module._condition(GOOD).columns == ("box_c",)


@pytest.mark.parametrize(
    "wrong",
    [
        {"form": "sometimes"},
        {"scale": "cubes"},
        {"basis": "hearsay"},
        {"effect_low": 0.0},
        {"effect_middle": 0.5},
        {"width": 0.0},
        {"inclusion": 1.0},
        {"stage": "framing"},
        {"scale": "doublings", "centre": 0.0},
        {"columns": ["made_up"]},
        {"columns": ["box_c", "room_c"]},
        {"law": "dew margin"},
        {"law": "by ear"},
        {"title": ""},
        {"centre": "one"},
        {"colour": "red"},
    ],
)
def test_a_wrong_entry_is_refused_by_name(wrong):
    with pytest.raises(ArgentryError, match=r"^conditions.toml, condition made_up: .*; .*\.$"):
        module._condition({**GOOD, **wrong})


def test_a_lacking_field_is_refused():
    with pytest.raises(ArgentryError, match="made_up"):
        module._condition({k: v for k, v in GOOD.items() if k != "source"})
