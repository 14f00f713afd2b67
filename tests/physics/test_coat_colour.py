"""Colours of coats in the makers' order, and the way back."""

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.physics import coat_words, colour
from argentry.physics.coat_colour import candidates, coat_lab

DAYLIGHT = colour.light("D65")
GRID = np.arange(0.0, 250.25, 0.25)
LAB = coat_lab(GRID, DAYLIGHT)


def turning(axis, low, high, pick):
    inside = (low <= GRID) & (high >= GRID)
    return GRID[inside][pick(LAB[inside, axis])]


LANDMARKS = {  # colour axis, search range, turning point, nm, word
    "deepest gold": (2, 0, 60, np.argmax, 19.5, ("gold", 1)),
    "darkest rose": (0, 0, 60, np.argmin, 33.5, ("rose", 1)),
    "deepest blue": (2, 20, 90, np.argmin, 44.0, ("blue", 1)),
    "second yellow": (2, 80, 140, np.argmax, 117.0, ("gold", 2)),
    "second rose": (1, 120, 180, np.argmax, 148.5, ("rose", 2)),
    "second violet": (2, 140, 190, np.argmin, 160.0, ("violet", 2)),
    "green": (1, 150, 240, np.argmin, 194.0, ("green", 2)),
    "third yellow": (2, 190, 250, np.argmax, 216.0, ("yellow", 3)),
}


@pytest.mark.parametrize("name", LANDMARKS)
def test_landmark(name):
    axis, low, high, pick, where, word = LANDMARKS[name]
    found = turning(axis, low, high, pick)
    assert found == pytest.approx(where, abs=1)
    assert coat_words.colour_word(found) == word


def hue(word, cycle):
    _, a, b = coat_lab(coat_words.thickness_for(word, cycle), DAYLIGHT)[0]
    return np.degrees(np.arctan2(b, a)) % 360


@pytest.mark.parametrize(
    ("cycle", "words"),
    [
        (1, ["straw", "gold", "orange", "rose", "lilac", "violet", "blue", "steel", "grey-green"]),
        (2, ["yellow", "gold", "orange", "rose", "lilac", "violet", "blue", "blue-green", "green"]),
    ],
)
def test_hues_turn_one_way_through_the_makers_words(cycle, words):
    # yellow (about 95 degrees) through red (0) and blue (270) towards green (150): hue falls
    turned = np.unwrap(np.radians([hue(word, cycle) for word in words]))
    assert (np.diff(turned) < 0).all()


def test_the_second_cycle_is_stronger_and_green_comes_only_there():
    chroma = np.hypot(LAB[:, 1], LAB[:, 2])
    assert chroma[(GRID > 140) & (GRID < 156)].max() > 1.5 * chroma[(GRID > 31) & (GRID < 45)].max()
    assert GRID[LAB[:, 1] < -20].min() > 175


@pytest.mark.parametrize("where", [8.0, 21.0, 32.5, 44.0, 55.0, 75.0, 108.0, 145.0, 168.0, 194.0])
def test_a_clean_colour_finds_its_thickness(where):
    lab = coat_lab(where, DAYLIGHT)[0]
    found = candidates(lab, DAYLIGHT, noise=0.5)
    assert found[0].thickness_nm == pytest.approx(where, abs=0.1)
    assert found[0].delta_e < 0.1
    assert found[0].low_nm <= where <= found[0].high_nm
    assert sum(one.weight for one in found) == pytest.approx(1, abs=1e-4)


def test_the_two_blues_are_both_told_and_the_fuming_time_decides():
    lab = coat_lab(45.0, DAYLIGHT)[0] * 0.5 + coat_lab(168.0, DAYLIGHT)[0] * 0.5
    open_case = candidates(lab, DAYLIGHT)
    assert {coat_words.colour_word(one.thickness_nm)[1] for one in open_case[:2]} == {1, 2}
    assert open_case[1].weight > 0.2
    early = candidates(lab, DAYLIGHT, prior_nm=(45, 10))
    late = candidates(lab, DAYLIGHT, prior_nm=(165, 20))
    assert early[0].thickness_nm < 60 < 150 < late[0].thickness_nm
    assert early[0].weight > 0.99
    assert late[0].weight > 0.9


def test_a_cycle_keeps_its_own_thicknesses():
    lab = coat_lab(45.0, DAYLIGHT)[0]
    for one in candidates(lab, DAYLIGHT, cycle=2, noise=5):
        assert 90 <= one.thickness_nm <= 205


@pytest.mark.slow
def test_wrong_cycle_rate_of_a_noisy_photograph():
    # At noise 2 an independent program found 5.6 % of guesses more than 25 nm off.
    rng = np.random.default_rng(7)
    truth = rng.uniform(0, 250, 400)
    photo = coat_lab(truth, DAYLIGHT) + rng.normal(0, 2, (400, 3))
    photo[:, 0] = np.minimum(photo[:, 0], 100)
    best = np.array([candidates(lab, DAYLIGHT)[0].thickness_nm for lab in photo])
    off = np.abs(best - truth)
    assert np.median(off) < 1.5
    assert 0.02 < np.mean(off > 25) < 0.10
    weights = np.array([candidates(lab, DAYLIGHT)[0].weight for lab in photo[:200]])
    # a likelihood that is honest: of the guesses called sure, few are wrong
    assert np.mean(off[:200][weights > 0.95] > 25) < 0.05


def test_the_light_matters():
    lamp = colour.light("A")
    lab = coat_lab(145.0, lamp)[0]
    assert candidates(lab, lamp)[0].thickness_nm == pytest.approx(145, abs=0.2)
    assert abs(candidates(lab, DAYLIGHT)[0].thickness_nm - 145) > 1


@pytest.mark.parametrize(
    ("lab", "more"),
    [
        ((np.nan, 0, 0), {}),
        ((101, 0, 0), {}),
        ((50, 200, 0), {}),
        ((70, 0, 0), {"noise": 0}),
        ((70, 0, 0), {"cycle": 9}),
        ((70, 0, 0), {"prior_nm": (45, 0)}),
        ((70, 0, 0), {"prior_nm": (300, 5)}),
    ],
)
def test_what_cannot_be_is_refused(lab, more):
    with pytest.raises(BadInput):
        candidates(lab, DAYLIGHT, **more)
