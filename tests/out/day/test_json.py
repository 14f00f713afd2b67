from __future__ import annotations

import json
import math
from dataclasses import fields, replace
from datetime import datetime

from jsonschema import Draft202012Validator

from argentry.out.schemas import schema
from argentry.records.day import DayPlan, Range
from argentry.records.plain import plain


def test_it_is_json_and_fits_its_schema(make_plan):
    data = plain(make_plan(3))
    Draft202012Validator(schema("day")).validate(data)
    assert json.loads(json.dumps(data, allow_nan=False)) == data


def test_every_field_of_the_record_is_there(make_plan):
    assert {field.name for field in fields(DayPlan)} <= set(plain(make_plan(1)))


def test_times_keep_their_offset_and_moment(make_plan):
    plan = make_plan(1, date=(2026, 10, 25), begin="00:30")
    data = plain(plan)
    for step, told in zip(plan.steps, data["steps"], strict=True):
        assert datetime.fromisoformat(told["start"]).timestamp() == step.start.timestamp()
    assert data["date"] == "2026-10-25"
    assert data["time_zone"] == "Europe/Madrid"


def test_endless_becomes_null(make_plan):
    plan = make_plan(1)
    hour = replace(plan.hours[0], exposure_minutes=Range(5.0, math.inf, math.nan))
    told = plain(replace(plan, hours=(hour,)))["hours"][0]["exposure_minutes"]
    assert told == {"low": 5.0, "middle": None, "high": None}


def test_an_empty_day_fits_the_schema_too(make_plan):
    empty = make_plan(1, plates_placed=0, steps=(), hours=(), sunrise=None, sunset=None, coat={})
    Draft202012Validator(schema("day")).validate(plain(empty))
