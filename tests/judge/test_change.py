"""Two pictures of one plate: laid over each other, and what has changed between them."""

import numpy as np
import pytest
from benchmarks.seeing.change import kind_of, matched, of, off_px, seen_of
from benchmarks.seeing.change_scene import FADING, change_scene
from PIL import Image

from argentry.judge import change as seeing
from argentry.judge.change import ChangeLook, see_change
from argentry.judge.register import registered

SMALL = (900, 690)


@pytest.fixture(scope="module")
def stained():
    first, second, truth = change_scene(71, "both", size=SMALL, turned=True)
    return first, second, truth, seen_of(first, second, truth)


def test_a_gilded_and_stained_plate_the_other_way_up_is_both(stained):
    *_, truth, seen = stained
    assert seen.why == ""
    assert kind_of(seen) == "both"
    assert off_px(seen, truth) < 2.0
    assert matched(seen, truth) == (len(truth.areas), 0)
    assert seen.whole.yellow > 1.5  # gold warms it
    assert [one.size for one in seen.areas] == sorted((o.size for o in seen.areas), reverse=True)


def test_without_grey_scales_areas_are_told_and_the_whole_is_not(stained):
    first, second, truth, _ = stained
    seen = see_change(of(first), of(second), ChangeLook(None, truth.grey_after, truth.densities))
    assert (seen.whole, seen.no_whole) == (None, seeing.NO_REFERENCE)
    assert matched(seen, truth) == (len(truth.areas), 0)


def test_two_pictures_of_an_unchanged_plate_of_another_build_say_so():
    first, second, truth = change_scene(72, "same", other=True, size=SMALL)
    seen = seen_of(first, second, truth)
    assert kind_of(seen) == "same"
    assert off_px(seen, truth) < 2.0
    assert seen.noise < 1.0


def test_a_stain_that_fades_slowly_is_one_area_without_crumbs_about_it():
    first, second, truth = change_scene(4322, FADING, size=SMALL)
    seen = seen_of(first, second, truth)
    assert matched(seen, truth) == (1, 0)
    assert 0.5 < seen.areas[0].diameter / truth.areas[0][2] < 2.0


def test_blocks_that_a_file_packs_a_step_apart_are_no_areas_and_stains_are():
    """A dark ground of one code in most blocks and of the next in a few, as a JPEG leaves it."""
    rng = np.random.default_rng(5)
    expected = np.full((120, 160, 3), 0.02)
    expected[:40] = 0.36
    expected *= np.exp(rng.normal(0.0, 0.01, expected.shape))
    packed = np.array([0.012, 0.075, -0.105])
    after = expected.copy()
    for y, x in ((48, 16), (72, 96), (96, 48)):
        after[y : y + 8, x : x + 8] *= 1.0 + packed
    given = np.ones((120, 160), bool), seeing._code_steps(expected), 8.0
    assert len(seeing._areas(expected, after, *given[:2], 0.0)[0]) == 3
    assert seeing._areas(expected, after, *given)[0] == []
    after[80:100, 120:140] *= 1.0 + packed  # as faint, and larger than a block
    after[104:112, 8:16] *= 0.3  # as small, and darker by far
    found = sorted((one.y, one.x) for one in seeing._areas(expected, after, *given)[0])
    assert np.array(found) == pytest.approx(np.array([[89.5, 129.5], [107.5, 11.5]]), abs=1.0)


def test_the_very_same_light_needs_no_grey_scale(stained):
    first = of(stained[0])
    seen = see_change(first, first[2:-1, 3:], ChangeLook(same_light=True))
    assert seen.whole.delta_e < 0.1
    assert seen.areas == ()
    assert seen.turn == pytest.approx(np.array([[1, 0, -3], [0, 1, -2], [0, 0, 1]]), abs=0.1)


def test_another_plate_and_another_shape_are_not_compared(stained):
    first = of(stained[0])
    other, *_ = change_scene(75, "same", size=SMALL)
    assert see_change(first, of(other), ChangeLook()).why == seeing.NOT_ALIKE
    squeezed = np.asarray(Image.fromarray(first).resize((SMALL[0], 3 * SMALL[1] // 4)))
    assert see_change(first, squeezed, ChangeLook()).why == seeing.OTHER_SHAPE
    tiny = np.asarray(Image.fromarray(first).resize((260, 200)))
    assert see_change(first, tiny, ChangeLook()).why == seeing.TOO_SMALL.format(which="after")
    none = np.full((300, 400, 3), 90, np.uint8)
    assert see_change(none, first, ChangeLook()).why == seeing.NOT_FOUND.format(which="before")


def test_a_perspective_drawn_by_pillow_is_found_again():
    """Outside: Pillow's own perspective transform; nothing of it is ours."""
    rng = np.random.default_rng(6)
    from scipy import ndimage

    plain = 0.2 + 0.05 * ndimage.gaussian_filter(rng.normal(0, 1, (300, 400)), 3) / 0.09
    turn = np.array([[1.004, 0.006, -3.0], [-0.004, 0.997, 2.0], [1e-5, -8e-6, 1.0]])
    # Pillow asks for each pixel of the result where it lies in the source
    asked = tuple((np.linalg.inv(turn) / np.linalg.inv(turn)[2, 2]).ravel()[:8])
    drawn = Image.fromarray(plain.astype("float32")).transform(
        (400, 300), Image.Transform.PERSPECTIVE, asked, Image.Resampling.BICUBIC
    )
    found, alike = registered(plain, np.maximum(np.asarray(drawn, dtype=float), 0.01))
    points = np.array([[40, 40, 1], [360, 40, 1], [360, 260, 1], [40, 260, 1], [200, 150, 1.0]])
    there, right = points @ found.T, points @ turn.T
    off = there[:, :2] / there[:, 2:] - right[:, :2] / right[:, 2:]
    # Pillow counts from the corners of pixels, we from their middles: below 0.01 px here
    assert np.abs(off).max() < 0.25
    assert alike > 0.9
