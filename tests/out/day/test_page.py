"""The day as a page shows it says what the sheet says."""

import re
from dataclasses import replace

from argentry.out.day import answer
from argentry.out.day.band import frame_of
from argentry.out.day.page import DRAWN, DayView, day_view, first_headline
from argentry.out.day.rows import rows
from argentry.records.plain import from_plain, plain


def test_every_word_is_the_sheets(make_plan):
    plan = make_plan(3)
    view = day_view(plan)
    assert view.headline == answer.headline(plan)
    assert view.odds == answer.odds_lines(plan)
    assert view.said == answer.of_this_day(plan)
    assert view.notes == answer.notes(plan)
    assert view.rows == rows(plan)
    assert (view.weather, *view.rests) == answer.assumptions(plan)
    assert (view.date, view.plates, view.start) == (plan.date.isoformat(), 3, view.rows[0].start)
    assert not view.by_rule


def test_a_first_plan_tells_no_latest_start_and_no_proof(make_plan):
    plan = make_plan(2)
    view = day_view(plan, by_rule=True)
    assert view.by_rule
    assert view.rows
    assert {row.latest for row in view.rows} == {""}
    assert [row.start for row in view.rows] == [row.start for row in rows(plan)]
    assert view.headline == f"2 plates: begin at {view.start}"
    assert answer.holds(plan) not in view.said
    fewer = replace(plan, plates_asked=4)
    assert first_headline(fewer) == f"2 of the 4 plates asked: begin at {view.start}"
    none = replace(plan, plates_placed=0, steps=())
    assert first_headline(none) == answer.headline(none)


def test_it_goes_between_processes_unchanged(make_plan):
    view = day_view(make_plan(1))
    assert from_plain(DayView, plain(view)) == view


def test_each_drawing_tells_where_its_hours_stand(make_plan):
    plan = make_plan(2)
    for svg, (width, _) in zip(day_view(plan).drawings, DRAWN, strict=True):
        [axis] = re.findall(r'<g class="axis"[^>]*>', svg)
        told = dict(re.findall(r'data-(\w+)="([^"]*)"', axis))
        frame = frame_of(plan, float(told["width"]))
        assert told["begin"] == frame.left.isoformat()
        assert float(told["minutes"]) == frame.minutes
        right = float(told["left"]) + float(told["width"])
        assert 0 < float(told["left"]) < right < width
        assert f'viewBox="0 0 {width:g} {told["high"]}"' in svg


def test_weather_that_came_by_itself_and_is_outdated_is_marked(make_plan):
    from argentry.records.weather import WeatherOrigin

    plan = make_plan(1)
    origin = WeatherOrigin("x", plan.begin, 600.0, fresh=False, credit="Data of somebody.")
    assert day_view(replace(plan, weather_origin=origin)).weather_old
    assert not day_view(replace(plan, weather_origin=replace(origin, fresh=True))).weather_old
    assert not day_view(plan).weather_old
