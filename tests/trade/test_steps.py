"""The step sequence is complete, in order, and says what a planner must know."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import ArgentryError, BadInput
from argentry.trade import steps as module
from argentry.trade.steps import cautions, materials, plate_size, step, step_minutes, steps


def test_order_is_the_order_of_the_work():
    keys = [rule.key for rule in steps()]
    work = "ready_room scour rouge_buff final_buff warm iodise load expose to_frame develop"
    work += " fix wash look gild quench dry inspect seal label"
    assert keys == work.split()
    assert [rule.key for rule in steps() if rule.scope == "day"] == ["ready_room"]


def test_five_gates_in_order():
    gates = [rule.gate for rule in steps() if rule.gate]
    assert gates == ["polish", "coat", "development", "fix", "finish"]


def test_only_development_runs_unattended():
    assert [rule.key for rule in steps() if not rule.attended] == ["develop"]


@pytest.mark.parametrize(
    ("key", "limit"),
    [("iodise", 0), ("expose", 180), ("fix", 15), ("wash", 0), ("quench", 0), ("dry", 0)],
)
def test_keeping_limits(key, limit):
    assert step(key).start_within_minutes == limit


def test_exposed_plate_is_out_within_two_hours():
    rules = [step("to_frame"), step("develop")]
    assert sum(rule.start_within_minutes for rule in rules) == 120


@pytest.mark.parametrize("key", ["scour", "rouge_buff", "final_buff", "inspect", "seal", "label"])
def test_steps_without_a_keeping_limit(key):
    assert step(key).start_within_minutes is None


def test_each_resource_serves_its_steps():
    held = {rule.key: rule.resource for rule in steps() if rule.resource}
    assert held == {
        "iodise": "box",
        "expose": "camera",
        "to_frame": "frame",
        "develop": "frame",
        "gild": "fire",
        "dry": "fire",
    }


def test_titles_are_short_and_alone():
    titles = [rule.title for rule in steps()]
    assert len(set(titles)) == len(titles)
    assert max(map(len, titles)) <= 60


def test_each_limit_in_a_caution_defers_to_local_rules():
    for caution in cautions().values():
        if caution.figures:
            assert "local" in caution.text or "your own authority" in caution.text, caution.key


def test_the_limits_of_iodine_are_those_of_its_facts():
    figures = cautions()["iodine_vapour"].figures
    facts = trade.facts("iodine")
    for key in ("ceiling", "immediate_danger"):
        assert f"{facts[key].value:g} {facts[key].unit}" in figures
    assert not any("{" in caution.figures for caution in cautions().values())


def test_iodine_and_gold_always_bring_their_cautions():
    assert {"iodine_vapour", "iodine_ammonia"} <= set(step("iodise").cautions)
    assert {"gold_salt", "gold_ammonia", "flame"} <= set(step("gild").cautions)
    assert {"thiosulfate_acid", "silver_waste"} <= set(step("fix").cautions)


def test_every_caution_but_general_ones_is_shown_somewhere():
    shown = {key for rule in steps() for key in rule.cautions}
    assert set(cautions()) - shown == {"old_equipment"}


def test_unknown_step_is_told_in_one_sentence():
    with pytest.raises(BadInput, match="'mercury' is no step; use one of ready_room, scour"):
        step("mercury")


@given(st.floats(1.0, 5000.0), st.floats(1.0, 5000.0))
def test_minutes_never_fall_with_area(first, second):
    small, large = sorted((first, second))
    for rule in steps():
        assert all(
            a <= b * (1 + 1e-12)
            for a, b in zip(step_minutes(rule, small), step_minutes(rule, large), strict=True)
        )


def test_minutes_hold_for_the_quarter_plate():
    quarter = plate_size("quarter").area_cm2
    for rule in steps():
        given_minutes = (rule.low_minutes, rule.typical_minutes, rule.high_minutes)
        assert step_minutes(rule, quarter) == pytest.approx(given_minutes, rel=1e-6)


def test_polishing_a_whole_plate_takes_twice_a_quarter_plate():
    low, typical, high = step_minutes(step("scour"), plate_size("whole").area_cm2)
    assert (low, typical, high) == pytest.approx((4, 12, 40), rel=0.01)


@pytest.mark.parametrize("area", [0.0, -5.0, float("nan"), float("inf")])
def test_no_minutes_for_an_impossible_area(area):
    with pytest.raises(BadInput, match="plate area"):
        step_minutes(step("scour"), area)


def test_materials_scale_with_area_and_plates():
    quarter, whole = plate_size("quarter").area_cm2, plate_size("whole").area_cm2
    one = {m.key: m for m in materials(quarter)}
    three = {m.key: m for m in materials(whole, 3)}
    assert three["gold"].amount == pytest.approx(12 * one["gold"].amount, rel=0.01)
    assert three["tape"].amount == pytest.approx(6 * one["tape"].amount, rel=0.01)
    assert three["glass"].amount == 3
    for material in three.values():
        assert material.low <= material.amount <= material.high
        assert material.name
        assert material.source


def test_materials_need_a_plate():
    with pytest.raises(BadInput, match="plates"):
        materials(89.0, 0)


def test_every_material_is_used_by_a_step():
    used = {key for rule in steps() for key, _, _ in rule.uses}
    assert used == set(trade.facts("materials"))


@pytest.mark.parametrize(
    ("field", "bad"),
    [
        ("law", "guess"),
        ("resource", "sink"),
        ("gate", "maybe"),
        ("basis", "heard"),
        ("scope", "year"),
        ("low_minutes", 30.0),
        ("low_minutes", float("nan")),
        ("cautions", ["no_such"]),
        ("uses", ["no_such"]),
        ("check", ""),
        ("activation_kj_mol", 20.0),
        ("start_within_minutes", 5.0),
        ("surprise", 1),
    ],
)
def test_a_wrong_entry_is_refused(field, bad):
    entry = dict(trade.toml("steps")["step"][1]) | {field: bad}
    with pytest.raises(ArgentryError, match="scour"):
        module._step(entry)


def test_an_unknown_fact_in_a_caution_is_refused():
    assert module._with_facts("up to {iodine.ceiling} here") == "up to 0.1 ppm here"
    with pytest.raises(ArgentryError, match=r"iodine\.floor"):
        module._with_facts("{iodine.floor}")


@pytest.mark.parametrize("field", ["title", "look_for", "source", "law", "attended"])
def test_a_missing_field_is_named(field):
    entry = {k: v for k, v in trade.toml("steps")["step"][1].items() if k != field}
    with pytest.raises(ArgentryError, match=field):
        module._step(entry)


def test_records_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        steps()[0].title = "x"
    with pytest.raises(TypeError):
        cautions()["new"] = None
