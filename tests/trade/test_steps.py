"""The step sequence is complete, in order, and says what a planner must know."""

import dataclasses
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import ArgentryError, BadInput
from argentry.records.plate import STAGES
from argentry.records.studio import Studio
from argentry.trade import steps as module
from argentry.trade.cautions import _with_facts as words_with_facts
from argentry.trade.steps import (
    by_law,
    cautions,
    materials,
    plate_size,
    read_steps,
    resources,
    stage_of,
    step,
    step_minutes,
    steps,
)


def test_order_is_the_order_of_the_work():
    keys = [rule.key for rule in steps()]
    work = "ready_room scour rouge_buff final_buff warm iodise load expose to_frame develop"
    work += " fix wash look gild quench dry inspect seal label"
    known = work.split()
    assert [key for key in keys if key in known] == known, "steps may be added between these"
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
    assert (
        held.items()
        >= {
            "iodise": "box",
            "expose": "camera",
            "to_frame": "frame",
            "develop": "frame",
            "gild": "fire",
            "dry": "fire",
        }.items()
    )


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
    for key in ("ceiling", "time_weighted", "no_effect_level", "immediate_danger"):
        assert f"{facts[key].value:g} {facts[key].unit}" in figures
    assert not any("{" in caution.figures for caution in cautions().values())


def test_what_iodine_does_beyond_burning_is_told():
    """International Chemical Safety Card 0167: asthma-like reaction, thyroid, delayed oedema."""
    text = cautions()["iodine_health"].text
    for word in ("asthma", "thyroid", "pregnancy", "hours later"):
        assert word in text


def test_the_european_level_is_below_the_american_ones():
    """0.07 mg/m3 over 253.81 g/mol at 24.45 L/mol (25 C, one atmosphere)."""
    facts = trade.facts("iodine")
    ppm = facts["no_effect_level"].value * 24.45 / facts["molar_mass"].value
    assert ppm == pytest.approx(0.007, abs=0.0005)
    assert ppm < facts["time_weighted"].value < facts["ceiling"].value


def test_gold_salt_and_what_is_left_of_gilding():
    assert {"H317", "H318"} <= set(re.findall(r"H\d{3}", cautions()["gold_salt"].figures))
    for key in ("gild", "quench"):
        assert "gold_waste" in step(key).cautions
    assert "carry gold and silver" in cautions()["gold_waste"].text


def test_the_warm_plate_is_read_by_what_can_read_a_mirror():
    """Polished silver radiates a few hundredths of a black surface: infrared shows the room."""
    (check,) = step("warm").checks
    assert "Probe on the back" in check.text
    assert "matt tape" in check.text


def test_iodine_and_gold_always_bring_their_cautions():
    assert {"iodine_vapour", "iodine_health", "iodine_ammonia"} <= set(step("iodise").cautions)
    assert {"gold_salt", "gold_ammonia", "flame"} <= set(step("gild").cautions)
    assert {"thiosulfate_acid", "silver_waste"} <= set(step("fix").cautions)


def test_every_caution_but_general_ones_is_shown_somewhere():
    shown = {key for rule in steps() for key in rule.cautions}
    assert set(cautions()) - shown == {"old_equipment"}


def test_unknown_step_is_told_in_one_sentence():
    with pytest.raises(BadInput, match="'mercury' is not a step; use one of ready_room, scour"):
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
    assert three["fixer"].amount == pytest.approx(4 * one["fixer"].amount, rel=0.01)  # one tray
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


GOOD = trade.toml("steps")["step"]
AT = {entry["key"]: index for index, entry in enumerate(GOOD)}
CHECK = {"when": "after", "text": "Look at it", "minutes": 1.0}


def changed(key, fields):
    """Return the steps with fields of one of them changed; None takes a field out."""
    entries = [dict(entry) for entry in GOOD]
    entry = {**entries[AT[key]], **fields}
    entries[AT[key]] = {name: value for name, value in entry.items() if value is not None}
    return entries


@pytest.mark.parametrize(
    ("key", "fields", "says"),
    [
        ("scour", {"key": "Scour it"}, "the key 'Scour it' has other signs; use a-z, 0-9 and _"),
        ("scour", {"title": ""}, "title is ''; give words"),
        ("scour", {"title": "x" * 61}, "the title has 61 letters; use at most 60"),
        ("scour", {"title": 3}, "title is 3; give words"),
        ("scour", {"stage": "framing"}, "stage 'framing' is not known; use one of polish, coat"),
        ("scour", {"law": "guess"}, "law 'guess' is not known; use one of fixed"),
        ("scour", {"resource": "sink"}, "resource 'sink' is not known; use one of nothing, box"),
        ("scour", {"gate": "maybe"}, "gate 'maybe' is not known"),
        ("scour", {"basis": "heard"}, "basis 'heard' is not known"),
        ("scour", {"scope": "year"}, "scope 'year' is not known; use one of day, plate"),
        ("scour", {"attended": "yes"}, "attended is 'yes'; give true or false"),
        ("scour", {"low_minutes": 30.0}, "its minutes are out of order; give 0 < low"),
        ("scour", {"low_minutes": float("nan")}, "low_minutes is nan; give a number"),
        ("scour", {"low_minutes": "two"}, "low_minutes is 'two'; give a number"),
        ("scour", {"low_minutes": True}, "low_minutes is True; give a number"),
        ("scour", {"area_exponent": 9.0}, "its area_exponent is out of range; give 0 to 2"),
        ("scour", {"cautions": ["no_such"]}, "cautions 'no_such' is not known"),
        ("scour", {"cautions": "flame"}, "cautions is 'flame'; give a list"),
        ("scour", {"uses": ["no_such"]}, "uses 'no_such' is not known"),
        ("scour", {"reads_before": ["moon_c"]}, "reads_before 'moon_c' is not known"),
        ("scour", {"reads_after": ["moon_c"]}, "reads_after 'moon_c' is not known"),
        ("scour", {"activation_kj_mol": 20.0}, "activation_kj_mol does not fit the law fixed"),
        ("fix", {"reference_c": None}, "reference_c does not fit the law temperature; give it"),
        ("scour", {"start_within_minutes": 5.0}, "keep_basis '' is not known"),
        ("fix", {"start_within_minutes": -1.0}, "its start_within_minutes is out of range"),
        ("fix", {"keep_source": ""}, "its limit names no source; give keep_source"),
        ("scour", {"surprise": 1}, "it has the unknown surprise; use key, title"),
        ("gild", {"cautions": ["gold_salt"]}, "it holds the fire without its caution; add 'flame'"),
        ("iodise", {"cautions": []}, "it holds the box without its caution; add 'iodine_vapour'"),
        ("scour", {"checks": "look"}, "checks is not a list of tables"),
        ("scour", {"checks": [{**CHECK, "when": "later"}]}, "checks.when 'later' is not known"),
        ("scour", {"checks": [{**CHECK, "minutes": 0}]}, "'Look at it' costs nothing"),
        ("scour", {"checks": [{**CHECK, "text": ""}]}, "checks: text is ''; give words"),
        ("scour", {"checks": [{"when": "after"}]}, "checks: it lacks minutes, text"),
        ("scour", {"checks": [{**CHECK, "at_minutes": 3.0}]}, "give at_minutes with the moment"),
        ("scour", {"checks": [{**CHECK, "when": "during"}]}, "give at_minutes with the moment"),
        (
            "scour",
            {"checks": [{**CHECK, "when": "during", "at_minutes": 20.0}]},
            "a check at 20 min falls outside the step; give more than 0 and less than 20",
        ),
        ("scour", {"checks": [CHECK, CHECK]}, "two checks are asked after it at once; join"),
        ("scour", {"feeds": [{"column": "mood", "how": "start"}]}, "feeds.column 'mood' is not"),
        ("scour", {"feeds": [{"column": "frame", "how": "by ear"}]}, "feeds.how 'by ear' is not"),
        (
            "scour",
            {"feeds": [{"column": "frame", "how": "start", "of": "fix"}]},
            "frame is fed by start of fix; leave out `of`",
        ),
        ("scour", {"feeds": [{"column": "frame", "how": "gap"}]}, "fed by gap of nothing; give"),
        (
            "scour",
            {"feeds": [{"column": "lens", "how": "studio", "of": "lens"}]},
            "'lens' is not a place in the studio; write it as lenses.name",
        ),
        (
            "expose",
            {"feeds": [{"column": "box_c", "how": "reading"}]},
            "reads_before 'box_c' is not known; use one of meter_ev, cloud_okta",
        ),
        ("scour", {"key": "fix"}, "two steps share the key fix; give each a key of its own"),
        ("scour", {"stage": "coat"}, "the stage polish of rouge_buff follows coat of scour; keep"),
        ("scour", {"scope": "day"}, None),
        ("rouge_buff", {"scope": "day"}, "rouge_buff of the day follows a plate's step; put it"),
        ("scour", {"law": "exposure"}, "the law exposure belongs to scour and expose; give it to"),
        ("develop", {"law": "fixed"}, "the law development belongs to no step; give it to exactly"),
        ("scour", {"another_day": "never"}, "another_day 'never' is not known; use one of before"),
        ("rouge_buff", {"another_day": "after"}, "follows rouge_buff, which may be done another"),
        ("warm", {"another_day": "before"}, "it follows final_buff, which may be done another day"),
        (
            "final_buff",
            {"another_day": "before"},
            "it must follow final_buff within 5 min, though a night may lie between; leave out",
        ),
        ("dry", {"another_day": "after"}, "it must follow quench within 0 min, though a night"),
        ("label", {"attended": False}, "cannot be left for another day; leave out another_day"),
        ("label", {"resource": "frame"}, "the last step label leaves the plate in the frame; add"),
        (
            "scour",
            {"feeds": [{"column": "frame", "how": "gap", "of": "expose"}]},
            "frame counts from expose, which is not done by then; name a step before this one",
        ),
        (
            "scour",
            {"feeds": [{"column": "exposure_start", "how": "start"}]},
            "the column exposure_start is fed twice; feed it once",
        ),
        (
            "scour",
            {"feeds": [{"column": "buff_minutes", "how": "seconds"}]},
            "the column buff_minutes is fed twice; feed it once; only lengths of the same unit",
        ),
        (
            "scour",
            {"feeds": [{"column": "lens", "how": "studio", "of": "lenses.name"}]},
            "the column lens is fed twice",
        ),
    ],
)
def test_an_incomplete_or_contradictory_step_is_refused_in_one_sentence(key, fields, says):
    if says is None:
        assert read_steps(changed(key, fields))[AT[key]].scope == "day"
        return
    with pytest.raises(ArgentryError) as caught:
        read_steps(changed(key, fields))
    sentence = str(caught.value)
    assert says in sentence
    assert sentence.startswith("steps.toml")
    assert sentence.endswith(".")
    assert "\n" not in sentence


@pytest.mark.parametrize(
    "field", sorted(set(GOOD[1]) & set(module.StepRule.__match_args__) - {"another_day"})
)
def test_each_field_of_a_step_that_is_needed_is_asked_for(field):
    fields = dataclasses.fields(module.StepRule)
    needed = {each.name for each in fields if each.default is dataclasses.MISSING}
    entries = changed("scour", {field: None})
    if field in needed:
        with pytest.raises(ArgentryError, match=rf"it lacks {field}; give each of them\."):
            read_steps(entries)
    else:
        read_steps(entries)


@pytest.mark.parametrize("gone", sorted(AT))
def test_a_step_taken_out_leaves_a_whole_or_is_refused(gone):
    others = [entry for entry in GOOD if entry["key"] != gone]
    if gone in {"final_buff", "iodise", "expose", "develop"}:
        with pytest.raises(ArgentryError, match=r"^steps\.toml"):
            read_steps(others)
    else:
        assert len(read_steps(others)) == len(GOOD) - 1


def test_a_stage_without_a_step_is_refused():
    with pytest.raises(ArgentryError, match="no step belongs to the stage polish; add one"):
        read_steps([entry for entry in GOOD if entry["stage"] != "polish"])


def test_each_check_stands_where_its_work_allows():
    moments = {rule.key: [check.when for check in rule.checks] for rule in steps()}
    assert moments["load"] == moments["to_frame"] == moments["gild"] == ["before"]
    assert "strips" in step("load").checks[0].text
    assert "season" in step("to_frame").checks[0].text
    assert "Level" in step("gild").checks[0].text
    looks = [check.at_minutes for check in step("develop").checks if check.when == "during"]
    assert looks == [30.0, 60.0, 90.0]
    assert step("iodise").check.startswith("White tissue paper")
    assert step("gild").check == ""


def test_every_step_belongs_to_a_stage_of_the_records():
    assert tuple(dict.fromkeys(rule.stage for rule in steps())) == STAGES
    assert stage_of()["plate_making"] == "polish"


def test_each_law_of_the_light_and_of_the_box_has_one_step():
    laws = {law: by_law(law).key for law in ("fuming", "exposure", "development")}
    assert laws == {"fuming": "iodise", "exposure": "expose", "development": "develop"}


def test_each_resource_is_of_the_studio():
    studio = {field.name for field in dataclasses.fields(Studio)}
    assert {each.of for each in resources().values()} - {""} <= studio
    places = [feed.of for rule in steps() for feed in rule.feeds if feed.how == "studio"]
    assert {place.split(".")[0] for place in places} <= studio


def test_an_unknown_fact_in_a_caution_is_refused():
    assert words_with_facts("up to {iodine.ceiling} here") == "up to 0.1 ppm here"
    with pytest.raises(ArgentryError, match=r"iodine\.floor"):
        words_with_facts("{iodine.floor}")


def test_records_cannot_be_changed():
    with pytest.raises(dataclasses.FrozenInstanceError):
        steps()[0].title = "x"
    with pytest.raises(TypeError):
        cautions()["new"] = None


def test_only_the_first_and_the_last_steps_may_wait_for_another_day():
    said = {rule.key: rule.another_day for rule in steps()}
    assert {key for key, day in said.items() if day == "before"} == {"scour", "rouge_buff"}
    assert {key for key, day in said.items() if day == "after"} == {"inspect", "seal", "label"}
