from __future__ import annotations

import re
import time
from xml.etree import ElementTree as ET

import pytest
from tests.out.look import cut, overlapping, sizes_of

from argentry.out.colours import HAIR, INK, NIGHT, RED, REST, VIOLET
from argentry.out.day.band import day_svg, frame_of

WIDE, SIZE = 538.6, 8.25  # on paper [pt]
PHONE = (340.0, 12.0)  # [px]
ALLOWED = {INK, HAIR, NIGHT, REST, RED, VIOLET, "#ffffff", "none"}


def words(svg: str) -> list[str]:
    root = ET.fromstring(svg)
    return [node.text for node in root.iter("{http://www.w3.org/2000/svg}text") if node.text]


def test_the_drawing_names_its_curves_its_plates_and_its_marks(make_plan):
    told = words(day_svg(make_plan(3), WIDE, SIZE))
    for word in ("plate 1", "plate 2", "plate 3", "room", "break", "exposure light, W/m²"):
        assert word in told
    assert "float: may begin this much later" in told


def test_colour_is_only_in_the_light(make_plan):
    svg = day_svg(make_plan(3, begin="05:00", end="23:00"), WIDE, SIZE)
    used = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg))
    assert {VIOLET, RED} <= used <= ALLOWED


def test_the_two_curves_differ_without_colour(make_plan):
    svg = day_svg(make_plan(1), WIDE, SIZE)
    red = [line for line in re.findall(r"<path[^>]*>", svg) if f'stroke="{RED}"' in line]
    violet = [line for line in re.findall(r"<path[^>]*>", svg) if f'stroke="{VIOLET}"' in line]
    assert any('stroke-dasharray="5,3"' in line for line in red)
    assert not any('stroke-dasharray="5,3"' in line for line in violet)


def test_the_frame_is_whole_hours_around_the_work(make_plan):
    plan = make_plan(2, begin="07:30", end="20:30")
    frame = frame_of(plan, 460.0)
    assert (frame.left.hour, frame.left.minute) == (7, 0)
    assert frame.minutes == 14 * 60
    ticks = frame.hours()
    assert ticks[0] == (0.0, "07")
    assert ticks[-1] == (14 * 60.0, "21")


# Clock changes of 2026: last Sundays of March and October at 01:00 UTC (Directive 2000/84/EC),
# second Sunday of March and first of November at 02:00 local (15 U.S.C. 260a): recalled.
@pytest.mark.parametrize(
    ("zone", "date", "expected"),
    [
        ("Europe/Madrid", (2026, 3, 29), ["00", "01", "03", "04"]),
        ("Europe/Madrid", (2026, 10, 25), ["00", "01", "02", "02", "03"]),
        ("America/Denver", (2026, 3, 8), ["00", "01", "03", "04"]),
        ("America/Denver", (2026, 11, 1), ["00", "01", "01", "02"]),
    ],
)
def test_hours_of_the_axis_on_a_day_when_the_clocks_change(make_plan, zone, date, expected):
    plan = make_plan(1, date=date, zone=zone, begin="00:30", end="12:30")
    ticks = frame_of(plan, 460.0).hours()
    assert [word for _, word in ticks][: len(expected)] == expected
    assert [minute for minute, _ in ticks] == [60.0 * i for i in range(len(ticks))]


def test_a_zone_off_the_hour_has_its_own_hours(make_plan):
    ticks = frame_of(make_plan(1, zone="Asia/Kathmandu"), 460.0).hours()
    assert ticks[0] == (0.0, "07")


def test_bars_are_as_long_as_real_time_across_the_change(make_plan):
    plan = make_plan(1, date=(2026, 3, 29), begin="00:30", end="12:30")
    frame = frame_of(plan, 460.0)
    for step in plan.steps:
        assert frame.at(step.end) - frame.at(step.start) == pytest.approx(step.minutes.middle)


def test_the_machines_zone_does_not_move_the_drawing(make_plan, monkeypatch):
    plan = make_plan(2)
    here = day_svg(plan, WIDE, SIZE)
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    time.tzset()
    try:
        there = day_svg(plan, WIDE, SIZE)
    finally:
        monkeypatch.undo()
        time.tzset()
    assert here == there


def test_a_day_without_light_or_plates_can_be_drawn(make_plan):
    dark = make_plan(1, sunrise=None, sunset=None, hours=(), steps=(), breaks=())
    assert "exposure light, W/m²" in words(day_svg(dark, WIDE, SIZE))


@pytest.mark.parametrize(("width", "size"), [(WIDE, SIZE), PHONE, (700.0, 13.0)])
@pytest.mark.parametrize("plates", [1, 3, 12])
def test_no_word_is_cut_at_any_width_and_none_is_small(make_plan, width, size, plates):
    plan = make_plan(plates, workers=2, pace=0.7, begin="05:30", end="22:00")
    svg = day_svg(plan, width, size)
    assert not cut(svg)
    assert min(sizes_of(svg)) >= size


def test_words_of_two_hours_do_not_run_into_each_other(make_plan):
    for width, size in ((WIDE, SIZE), PHONE):
        svg = day_svg(make_plan(2, begin="04:30", end="23:00"), width, size)
        assert not overlapping(svg)
