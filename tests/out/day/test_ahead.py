"""A day ahead in little: its figures are the plan's, its strip stands on the axis of all."""

import re
from dataclasses import replace
from xml.etree import ElementTree as ET

from argentry.needs.doubt.percent import percent
from argentry.out.colours import INK, VIOLET
from argentry.out.day.ahead import (
    DayAhead,
    day_ahead,
    good_bar,
    hour_words,
    hours_of,
    strip,
)
from argentry.out.day.blocks import is_exposure
from argentry.out.wording import count_range
from argentry.records.day import Range
from argentry.records.plain import from_plain, plain

NONE = DayAhead(
    "2026-06-22", "Mon 22 Jun", 0, (0.0,) * 3, "–", "–", (), (), (), "over", usual=False
)


def boxes(svg, fill=INK):
    root = ET.fromstring(svg)
    found = [one.attrib for one in root.iter() if one.get("fill") == fill and one.get("width")]
    return [(float(one["x"]), float(one["width"])) for one in found]


def test_the_figures_are_those_of_the_plan(make_plan):
    plan = replace(make_plan(2), good_plates=Range(0.0, 1.0, 2.0), all_finished_share=0.61)
    one = day_ahead(plan)
    assert one.good == (0.0, 1.0, 2.0)
    assert one.good_words == count_range(plan.good_plates)
    assert one.finished_words == percent(0.61, plan.days_simulated)
    assert one.usual is not plan.weather_file
    assert len(one.exposures) == sum(map(is_exposure, plan.steps)) == 2
    assert len(one.light) == len(plan.hours)
    first = plan.hours[0]
    assert one.light[0] == (
        60.0 * first.time.hour + 30.0,
        first.exposure_w_m2.low,
        first.exposure_w_m2.middle,
        first.exposure_w_m2.high,
    )
    begin = min(step.start for step in plan.steps)
    assert one.work[0] == 60 * begin.hour + begin.minute
    assert from_plain(DayAhead, plain(one)) == one


def test_a_day_without_a_plate_says_so(make_plan):
    one = day_ahead(replace(make_plan(1), plates_placed=0, steps=()))
    assert (one.good_words, one.finished_words, one.work) == ("no plate", "–", ())
    assert "<circle" not in good_bar(one, 3.0)


def test_all_days_stand_on_one_axis_of_whole_hours(make_plan):
    one = day_ahead(make_plan(1, begin="07:30", end="20:30"))
    low, high = hours_of([one, NONE])
    assert low % 60 == high % 60 == 0
    assert low <= one.work[0] < low + 60
    assert hours_of([NONE]) == (480.0, 1080.0)
    words = re.findall(r">(\d\d)</text>", hour_words((480.0, 600.0), 300.0))
    assert words == ["08", "09", "10"]


def test_exposures_stand_at_their_hours(make_plan):
    one = day_ahead(make_plan(2))
    low, high = hours = hours_of([one])
    shown = boxes(strip(one, hours, 20.0, 300.0))
    wanted = [300.0 * (begin - low) / (high - low) for begin, _ in one.exposures]
    assert [x for x, _ in shown] == [round(x, 2) for x in wanted]
    assert all(width >= 2.0 for _, width in shown)
    assert VIOLET in strip(one, hours, 20.0, 300.0)
    assert VIOLET not in strip(NONE, hours, 20.0, 300.0)


def test_the_range_of_good_plates_is_drawn_with_its_middle():
    one = replace(NONE, plates=3, good=(1.0, 2.0, 3.0), good_words="2 (1–3)")
    svg = good_bar(one, 4.0)
    [dot] = re.findall(r'<circle cx="([\d.]+)"', svg)
    assert float(dot) == 55.0
    assert 'x1="30" y1="8" x2="80"' in svg
    assert svg.count("<line") == 5 + 1
    assert "Good plates on average: 2 (1–3)." in svg
