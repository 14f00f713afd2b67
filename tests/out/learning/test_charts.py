from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest
from tests.out.look import cut, overlapping, sizes_of

from argentry.desk.learning.next_trial import NextPlate
from argentry.desk.numbers.own_numbers import ExposureCurve
from argentry.desk.pages.learning import JudgedExposure
from argentry.learn.stages.trend import TrendPoint
from argentry.out.colours import INK
from argentry.out.learning.charts import (
    RangeRow,
    drift_chart,
    exposure_chart,
    range_chart,
    trend_chart,
)
from argentry.out.learning.tables import next_lines
from argentry.out.learning.words import bar, becomes, behind, number, share
from argentry.records.causes import Chart
from argentry.records.learned import Share

PHONE, WIDE = 340.0, 700.0  # px
SVG = "{http://www.w3.org/2000/svg}"


def drift(days, values, title, words, since=None, toward=""):
    return Chart(
        quantity=title, title=title, unit="", days=tuple(days), values=tuple(values), above=(),
        below=(), limit=4.0, alarm=None, since=since, toward=toward, false_alarm_every=100.0,
        enough=True, words=words,
    )  # fmt: skip


def drawn(svg):
    return ET.fromstring(svg)


def words(svg):
    return [text.text for text in drawn(svg).iter(f"{SVG}text")]


def test_a_range_is_drawn_from_low_to_high_with_its_count():
    rows = [RangeRow("coat", 0.25, 0.5, 0.75, "12 plates", (0.0, 1.0))]
    svg = range_chart("Stages", rows, (0.0, 1.0), [(0.0, "0"), (1.0, "100 %")], "sound", WIDE)
    span_line = next(line for line in drawn(svg).iter(f"{SVG}line") if line.get("stroke") == INK)
    band = next(drawn(svg).iter(f"{SVG}rect"))
    dot = next(drawn(svg).iter(f"{SVG}circle"))
    left, right = float(span_line.get("x1")), float(span_line.get("x2"))
    assert float(dot.get("cx")) == pytest.approx((left + right) / 2, abs=0.1)
    assert float(band.get("x")) < left
    assert right < float(band.get("x")) + float(band.get("width"))
    assert "12 plates" in words(svg)
    assert drawn(svg).get("role") == "img"


def test_what_lies_beyond_the_axis_has_an_arrow():
    rows = [RangeRow("damp", -9.0, -1.0, 0.0, "40 plates")]
    assert "‹" in words(range_chart("E", rows, (-2.0, 2.0), [(0.0, "0")], "probit", WIDE))


def test_words_cannot_break_the_drawing():
    rows = [RangeRow('<script>"&', 0.1, 0.2, 0.3, "1 plate")]
    svg = range_chart('a "title" <b>', rows, (0.0, 1.0), [(0.0, "0")], "x", WIDE)
    assert "<script>" not in svg
    assert '<script>"&' in words(svg)
    assert drawn(svg).get("aria-label") == 'a "title" <b>'


def test_each_judged_plate_stands_on_its_line():
    curve = ExposureCurve((-1.0, 0.0, 1.0), (0.2, 0.9, 0.2), (0.1, 0.8, 0.1), (0.4, 0.95, 0.4))
    plates = [JudgedExposure(s, v) for s, v in ((-0.9, "blank"), (0.0, "right"), (7.0, "over"))]
    svg = exposure_chart(curve, plates, WIDE)
    assert {"under, 1", "right, 1", "over, 1", "solarised, 0", "plan"} <= set(words(svg))
    assert sum(line.get("stroke") == INK for line in drawn(svg).iter(f"{SVG}line")) == 3


def test_a_trend_of_one_plate_and_a_flat_measurement_can_be_drawn():
    point = TrendPoint(date(2025, 1, 4), good=True, share=0.6, low=0.3, high=0.9, plates=1)
    assert "2025-01-04" in words(trend_chart([point], WIDE))
    chart = drift([date(2025, 1, 4), date(2025, 1, 5)], [3.0, 3.0], "rinse", "No drift.")
    svg = drift_chart(chart, WIDE)
    assert "nan" not in svg
    assert "No drift." in drawn(svg).get("aria-label")


@pytest.mark.parametrize("width", [PHONE, WIDE])
def test_every_chart_is_whole_at_its_width(width):
    long = "hours between the last buff and the iodine box, on a damp day"
    rows = [RangeRow(name, 0.1, 0.5, 1.4, "1200 plates", (0.0, 0.9)) for name in (long, "damp")]
    ticks = [(0.0, "0"), (0.5, "50"), (1.0, "100 %")]
    foot = "where a typical change in it takes a stage that is sound on 70 %"
    stops = (-3.0, 0.0, 3.0)
    curve = ExposureCurve(stops, (0.1, 0.9, 0.1), stops, stops)
    plates = [JudgedExposure(0.1 * i, "solarised") for i in range(120)]
    days = [date(2025, 1, d) for d in range(1, 11)]
    trend = [TrendPoint(day, bool(day.day % 2), 0.6, 0.3, 0.9, 1) for day in days]
    values = [0.000123 * i for i in range(10)]
    drifts = [drift(days, values, "damp", "", days[place], "below") for place in (0, 4, 6, 9)]
    charts = [
        range_chart("E", rows, (0.0, 1.0), ticks, foot, width),
        exposure_chart(curve, plates, width),
        trend_chart(trend, width),
        *(drift_chart(chart, width) for chart in drifts),
    ]
    for svg in charts:
        assert not cut(svg)
        assert not overlapping(svg)
        assert min(sizes_of(svg)) >= 12.0


def test_a_drift_says_since_when():
    days = [date(2025, 1, d) for d in range(1, 11)]
    chart = drift(days, list(range(10)), "damp", "Drifts.", date(2025, 1, 5), "above")
    assert "higher since 2025-01-05" in words(drift_chart(chart, WIDE))


@pytest.mark.parametrize(
    ("value", "said"),
    [(0.000269, "0.000269"), (-8.3e-17, "0"), (1334.2, "1334"), (47.0, "47"), (1.2151, "1.22"),
     (None, "–"), (2e-7, "0.0000002"), (8.63e-5, "0.0000863")],
)  # fmt: skip
def test_numbers_are_said_in_three_digits(value, said):
    assert number(value) == said


def test_ranges_are_said_with_their_ends():
    assert share(Share(0.466, 0.407, 0.525, 9)) == "47 % (41–52)"
    assert share(Share(1.0, 0.999, 1.0, 9)) == "100 % (>99–100)"
    effect = SimpleNamespace(effect=-0.5, low=-1.0, high=-0.1)
    assert becomes(effect) == "51 % (32–66)"
    assert bar(0.0, 0.5, 1.0, 5) == "──●──"
    assert bar(0.5, 0.5, 0.5, 5) == "··●··"
    assert behind(0) == "no plate yet: only starting assumptions"
    assert behind(1) == "1 plate"
    assert behind(9, prior=True) == "9 plates, mostly starting assumptions"


def test_a_trial_is_told_with_what_it_changes_and_teaches():
    trial = NextPlate(
        change="coat_nm", title="thickness of the coat", from_=16.0, to=24.0, unit="nm", steps=(),
        explores=True, chance=0.9, chance_low=0.82, chance_high=0.96, chance_before=0.8, doubt=0.3,
        doubt_after=0.2, teaches="It teaches.", plates=116, reason="Better.", stage="coat",
        mostly_prior=False, commissioned=False, source="the book", exposed_off_stops=None, notes=(),
    )  # fmt: skip
    told = next_lines(trial)
    assert told[0] == "Change only this: thickness of the coat from 16 to 24 nm."
    chance = "Chance that the coat comes out sound: 90 % (82–96)"
    assert f"{chance}; 80 % as you work now; 116 plates." in told
    assert told[-1].startswith("This is a trial")
    nothing = replace(trial, change="")
    assert next_lines(nothing)[0] == "Change nothing on the next plate."
    assert f"{chance}; 116 plates." in next_lines(nothing)
    whole = replace(trial, change="exposure", stage="exposure", unit="stops", to=0.25)
    assert next_lines(whole)[0] == "Expose +0.25 stops."
    assert "exposure comes out right" in " ".join(next_lines(whole))
    strips = replace(whole, steps=(-0.75, -0.004, 0.75))
    assert next_lines(strips)[0] == "Expose strips on one plate: -0.75, 0, +0.75 stops."
    assert "From 116 plates." in next_lines(strips)
    # a book of many plates, none of which had its exposure judged
    assert next_lines(replace(strips, plates=0.0))[2].startswith("No exposure is judged yet:")
