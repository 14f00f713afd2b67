from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from argentry.out.drawing.svg import drawing, figure, hatching, mark, smooth, text


@pytest.mark.parametrize(
    ("value", "said"), [(0.0, "0"), (-0.001, "0"), (-0.5, "-0.5"), (12.0, "12"), (100.0, "100")]
)
def test_lengths_are_written_short(value, said):
    assert figure(value) == said


def test_words_cannot_break_out_of_their_mark():
    svg = drawing(10, 10, 'a "title" <b>', [text(0, 0, "<script>&", size=12)])
    root = ET.fromstring(svg)
    assert root.get("aria-label") == 'a "title" <b>'
    assert root[0].text == "<script>&"
    assert "<script>" not in svg
    assert mark("g", x=None) == "<g/>"


def numbers(way: str) -> list[float]:
    return [float(part) for part in re.findall(r"-?\d+(?:\.\d+)?", way)]


def test_hatching_stays_inside_its_bar_at_45_degrees():
    strokes = re.findall(r"M([^M\"]+)", hatching(10.0, 4.0, 130.0, 12.0))
    assert len(strokes) > 10
    for x1, y1, x2, y2 in map(numbers, strokes):
        assert 10.0 <= x1 <= x2 <= 130.0
        assert 4.0 <= y2 <= y1 <= 12.0
        assert y1 - y2 == pytest.approx(x2 - x1, abs=0.02)


def test_a_smooth_line_goes_where_scipys_monotone_one_goes():
    # outside: scipy's PCHIP uses the same harmonic mean of slopes on even steps
    xs, ys = np.arange(7.0) * 10, np.array([0.0, 2.0, 9.0, 9.0, 7.0, 7.5, 1.0])
    way = numbers(smooth(list(zip(xs, ys, strict=True))))
    theirs = PchipInterpolator(xs, ys)
    pieces = [way[i : i + 6] for i in range(2, len(way), 6)]
    for place, (_, c1, _, c2, _, end) in list(enumerate(pieces))[1:-1]:
        start = ys[place]
        middle = (start + 3 * c1 + 3 * c2 + end) / 8
        assert middle == pytest.approx(theirs(xs[place] + 5.0), abs=0.02)


def test_a_smooth_line_never_swings_beyond_its_points():
    points = [(0.0, 0.0), (1.0, 10.0), (2.0, 10.0), (3.0, 0.0)]
    ys = numbers(smooth(points))[1::2]
    assert 0.0 <= min(ys) <= max(ys) <= 10.0
    assert smooth(points[:2]) == "M0 0L1 10"
