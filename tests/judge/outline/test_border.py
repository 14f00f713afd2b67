"""A frame, a mat or a print's margin is not the plate; the lip of a holder is a part of it."""

import numpy as np
from scipy import ndimage

from argentry.judge.outline.border import opening

OUTER = np.array([[40.0, 30.0], [360.0, 30.0], [360.0, 270.0], [40.0, 270.0]])
MIDDLE = OUTER.mean(axis=0)


def drawn(*borders, oval=False):
    """Draw borders, each a share of the outer size and a tone, about a plate of half that size."""
    y, x = np.mgrid[0:300, 0:400].astype(float)
    away = np.maximum(np.abs(x - MIDDLE[0]) / 160.0, np.abs(y - MIDDLE[1]) / 120.0)
    rng = np.random.default_rng(8)
    seen = np.full((300, 400, 3), 0.004)
    for share, tone in borders:
        seen[away <= share] = tone
    within = np.hypot(x - MIDDLE[0], (y - MIDDLE[1]) / 0.75) < 110 if oval else away <= 0.7
    tones = ndimage.gaussian_filter(rng.normal(0, 1, (300, 400)), 6)
    picture = 0.08 * np.exp(0.5 * tones / tones.std())
    seen[within] = picture[within][:, None] * [1.0, 0.95, 0.85]
    return ndimage.gaussian_filter(seen, (0.7, 0.7, 0.0))


def test_what_lies_in_frames_and_mats_is_the_plate():
    plate = MIDDLE + 0.7 * (OUTER - MIDDLE)
    for borders in (
        [(1.0, (0.02, 0.018, 0.016))],  # a black mat
        [(1.0, (0.25, 0.16, 0.05)), (0.85, (0.7, 0.68, 0.6))],  # a frame and a white mat in it
    ):
        found, framed = opening(drawn(*borders), OUTER)
        assert framed, borders
        assert np.abs(found - plate).max() < 4.0, borders


def test_the_opening_of_a_mat_that_is_not_a_rectangle_is_not_read():
    assert opening(drawn((1.0, (0.45, 0.32, 0.1)), oval=True), OUTER) == (None, True)


def test_a_bare_plate_has_no_border_and_keeps_the_lip_of_its_holder():
    own = MIDDLE + 0.7 * (OUTER - MIDDLE)
    found, framed = opening(drawn(), own)
    assert (found is own, framed) == (True, False)
    lip = drawn((0.76, (0.012, 0.012, 0.012)))
    assert opening(lip, MIDDLE + 0.76 * (OUTER - MIDDLE))[1] is False
