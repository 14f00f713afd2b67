"""The end of a development by how tones rise, against distributions of SciPy and drawn plates."""

import io

import numpy as np
import pytest
from benchmarks.seeing.ripening_scene import series
from PIL import Image
from scipy import stats

from argentry.judge import red_looks as looking
from argentry.judge.bare_silver import CLIPPED
from argentry.judge.outline.plate_edges import NOT_FOUND
from argentry.judge.red_looks import red_looks
from argentry.judge.ripening import ripeness

BEFORE = (0.0, 0.5)


@pytest.mark.parametrize("law", [stats.expon(scale=1 / np.log(2)), stats.fisk(1.6)])
def test_the_end_is_found_where_tones_rise_as_distributions_of_scipy_do(law):
    """Outside: SciPy's exponential and log-logistic distributions, whose half lies at 1."""
    faster = np.array([0.3, 1.0, 1.5, 2.2, 3.0])  # the second tone is the middle one
    for end in (0.7, 1.5):
        doses = end * np.array([0.02, 0.2, 0.4, 0.6, 0.8])
        levels = 0.6 + 0.5 * law.cdf(doses[:, None] / end * faster)
        seen = ripeness(doses, levels, 1, BEFORE)
        assert seen.end == pytest.approx(np.log(end), abs=0.22)
        assert abs(seen.end - np.log(end)) < 1.3 * seen.sd < 0.5
        assert seen.risen[1] == pytest.approx(law.cdf(0.8), abs=0.1)


@pytest.mark.parametrize("end", [0.7, 1.8])
def test_six_looks_tell_a_rise_of_another_kind_whatever_the_studio_believed(end):
    """Outside: SciPy's log-normal distribution, which is neither rise that is fitted."""
    faster = np.array([0.3, 1.0, 1.5, 2.2, 3.0])
    doses = end * np.linspace(0.02, 0.7, 6)
    levels = 0.6 + 0.5 * stats.lognorm(0.8).cdf(doses[:, None] / end * faster)
    seen = ripeness(doses, levels, 1, BEFORE)
    assert seen.end == pytest.approx(np.log(end), abs=0.05)
    assert seen.sd < 0.14


def test_pictures_that_scatter_less_are_known_better():
    """Outside: SciPy's log-logistic distribution, with noise drawn on it."""
    doses = np.linspace(0.02, 0.8, 8)
    rise = stats.fisk(1.4).cdf(doses[:, None] * np.array([0.3, 1.0, 1.5, 2.2, 3.0]))
    noise = np.random.default_rng(4).normal(0.0, 1.0, rise.shape)
    little, much = (
        ripeness(doses, (0.6 + 0.5 * rise) * np.exp(share * noise), 1, BEFORE).sd
        for share in (0.002, 0.012)
    )
    assert little < 0.7 * much


def test_a_single_look_says_hardly_more_than_the_dose_does():
    seen = ripeness(np.array([0.5]), np.array([[0.70, 0.71, 0.72, 0.73]]), 1, BEFORE)
    assert seen.end == pytest.approx(0.0, abs=0.35)
    assert 0.35 < seen.sd < 0.6


@pytest.fixture(scope="module")
def stand():
    one = series(2, until=0.85)
    return one, [np.asarray(Image.open(io.BytesIO(content))) for content in one.pictures[::3]]


def test_pictures_of_a_ripening_plate_tell_its_end_and_their_tones_rise(stand):
    one, pictures = stand
    looks = red_looks(pictures, one.bare, one.middle)
    rise = np.diff(looks.levels, axis=0)
    assert (rise[:, -1] > 0.0).all()  # lights
    assert looks.levels[-1, -1] > looks.levels[-1, looks.middle] > looks.levels[-1, 0]
    assert looks.levels[0].max() - looks.levels[0].min() < 0.05  # nothing shows at first
    seen = ripeness(one.doses[::3], looks.levels, looks.middle, BEFORE)
    assert abs(np.log(one.end_dose) - seen.end) < 0.25


def test_what_cannot_be_used_says_which_picture_and_why(stand):
    one, pictures = stand
    grey = np.full((300, 400, 3), 90, dtype="uint8")
    assert red_looks([pictures[0], grey], one.bare) == (1, NOT_FOUND)
    bright = np.where(pictures[0] > 40, 255, pictures[0]).astype("uint8")
    assert red_looks([bright], one.bare) == (0, CLIPPED)
    assert red_looks(pictures[:1], one.bare, (0.0, 0.0, 5.0, 5.0)) == (0, looking.NO_ROOM)


def test_looks_in_which_little_has_come_up_are_laid_by_the_plates_edges(monkeypatch):
    plate = np.random.default_rng(3).uniform(0.1, 0.3, (60, 80, 1))
    corners = np.array([[5.0, 5.0], [74.0, 5.0], [74.0, 54.0], [5.0, 54.0]])
    shift = np.array([[1.0, 0.0, 3.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    laid = []
    for alike in (0.0, 0.6, 0.95):
        monkeypatch.setattr(looking, "registered", lambda *_, alike=alike: (shift, alike))
        laid.append(looking._laid(plate[..., 0], plate, corners, 50, 70))
    by_edges, little, enough = laid
    assert (little == by_edges).all()
    assert enough[:, :-3] == pytest.approx(by_edges[:, 3:])
