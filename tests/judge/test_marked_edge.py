"""Marked edges: how wide they were drawn, motion or focus, against Pillow's and SciPy's sums."""

import numpy as np
import pytest
from benchmarks.seeing.plate_scene import blurred
from PIL import Image, ImageDraw, ImageFilter
from scipy.integrate import quad

from argentry.judge import edge_blur, marked_edge
from argentry.judge.edge_blur import Curve, blur_of_edges
from argentry.judge.marked_edge import edge_profile, risen

TRIANGLE = ((60, 60), (330, 100), (150, 300))
AT = np.linspace(-2.0, 0.3, 80)
PLATE = Curve(AT, 0.02 + 0.5 / (1 + np.exp(-3.0 * (AT + 0.6))))


@pytest.fixture(scope="module")
def sheet():
    """Light of a dark triangle on a light ground, drawn four times as large and shrunk."""
    made = Image.new("F", (1600, 1440), 0.6)
    ImageDraw.Draw(made).polygon([(4 * x, 4 * y) for x, y in TRIANGLE], fill=0.08)
    return np.asarray(made).reshape(360, 4, 400, 4).mean(axis=(1, 3))


def sides(off=1.5):
    """Return the triangle's sides as a hand marks them, a little beside."""
    found = []
    for k, (a, b) in enumerate(zip(TRIANGLE, (*TRIANGLE[1:], TRIANGLE[0]), strict=True)):
        here, there = (
            np.add(np.multiply(a, 0.8), np.multiply(b, 0.2)),
            np.add(np.multiply(a, 0.2), np.multiply(b, 0.8)),
        )
        found.append(tuple(np.add([*here, *there], [off, -off, -off, off * (k - 1)])))
    return found


@pytest.mark.parametrize("disc", [False, True])
def test_the_profile_is_that_of_its_shadow_added_up_by_scipy(disc):
    wide, soft = 9.0, 1.1

    def shadow(u):
        own = 8 / np.pi / wide**2 * np.sqrt(max(wide**2 / 4 - u**2, 0.0)) if disc else 1 / wide
        return own if abs(u) < wide / 2 else 0.0

    from scipy.special import ndtr

    at = np.array([-7.0, -3.0, 0.0, 1.5, 4.0])
    added = [quad(lambda u, x=x: shadow(u) * ndtr((x - u) / soft), -4.5, 4.5)[0] for x in at]
    assert risen(at, wide, soft, disc=disc) == pytest.approx(added, abs=2e-3)


@pytest.mark.parametrize("radius", [2, 5])
def test_the_width_that_pillow_blurred_an_edge_by_is_found(radius):
    """Outside: Pillow's BoxBlur of radius r is a move of 2 r + 1 pixels across an upright edge."""
    drawn = Image.new("L", (200, 160), 200)
    drawn.paste(60, (100, 0, 200, 160))
    share = np.asarray(drawn.filter(ImageFilter.BoxBlur(radius))) / 255.0
    seen = blur_of_edges(share, [(98.0, 20.0, 102.0, 140.0)], None, None)
    assert seen.edges[0].width == pytest.approx(2 * radius + 1, abs=0.3)
    assert (seen.kind, seen.why) == ("unknown", edge_blur.ONE_EDGE.format(apart=30.0))


@pytest.mark.parametrize("angle", [20.0, 100.0])
def test_a_motion_is_told_with_its_length_and_its_direction(sheet, angle):
    share = PLATE.of(blurred(sheet, ("motion", 13.0, angle)))
    seen = blur_of_edges(share, sides(), None, PLATE)
    assert seen.kind == "motion"
    assert seen.odds > 0.95
    assert seen.length == pytest.approx(13.0, rel=0.05)
    assert abs((seen.direction_deg - angle + 90) % 180 - 90) < 3.0
    plain = blur_of_edges(share, sides(), None, None).edges
    pairs = [(one.width, known.width) for one, known in zip(plain, seen.edges, strict=True)]
    # by tones alone an edge comes out narrower, or does not pass
    assert all(one is None or one < known for one, known in pairs)


def test_a_focus_that_is_off_is_told_with_its_disc_and_a_sharp_picture_as_sharp(sheet):
    seen = blur_of_edges(PLATE.of(blurred(sheet, ("focus", 9.0, 0.0))), sides(), None, PLATE)
    assert (seen.kind, seen.length) == ("focus", None)
    assert seen.disc == pytest.approx(9.0, rel=0.06)
    assert blur_of_edges(PLATE.of(sheet), sides(), None, PLATE).kind == "sharp"


def test_edges_that_do_not_count_say_why(sheet):
    weak = 0.3 + 0.05 * sheet
    first = sides()[0]
    assert edge_profile(sheet, (10.0, 10.0, 20.0, 10.0)).startswith("it is too short")
    assert edge_profile(sheet, (2.0, 2.0, 2.0, 300.0)) == marked_edge.OUTSIDE
    assert "too weak" in blur_of_edges(weak, [first], None, None).why
    y, x = np.mgrid[0:360, 0:400]
    round_ = np.where(np.hypot(x - 200, y - 180) < 90, 0.1, 0.6)
    assert edge_profile(round_, (140.0, 108.0, 260.0, 108.0)) == marked_edge.BENT
    busy = np.where(x < 200, 0.1, np.where(x < 206, 0.6, 0.3))
    assert "something else lies beside it" in blur_of_edges(
        busy, [(200.0, 40.0, 200.0, 300.0)], None, None
    ).why  # fmt: skip
