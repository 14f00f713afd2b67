"""Warming a copper plate."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.room.warming import time_constant_s, warm_seconds


@pytest.mark.parametrize(("film", "expected"), [(5.0, 345), (10.0, 172), (25.0, 69)])
def test_time_constant_of_a_millimetre(film, expected):
    assert time_constant_s(1.0, film) == pytest.approx(expected, abs=0.6)
    assert time_constant_s(0.5, film) == pytest.approx(expected / 2, abs=0.6)


@settings(deadline=None)
@given(st.floats(-10.0, 15.0), st.floats(16.0, 20.0), st.floats(20.5, 26.0), st.floats(27.0, 60.0))
def test_warming_adds_up(start, middle, end, air):
    two = warm_seconds(1.0, start, middle, air) + warm_seconds(1.0, middle, end, air)
    assert warm_seconds(1.0, start, end, air) == pytest.approx(float(two))


def test_already_there_takes_no_time():
    assert warm_seconds(1.0, 20.0, 20.0, 20.0) == 0.0
    assert warm_seconds(1.0, 20.0, 20.0, 30.0) == 0.0


def test_cooling_is_the_same():
    assert warm_seconds(1.0, 30.0, 21.0, 20.0) == pytest.approx(
        float(warm_seconds(1.0, 10.0, 19.0, 20.0))
    )


@pytest.mark.parametrize(
    ("start", "end", "air"),
    [(10, 25, 20), (10, 20, 20), (15, 10, 20), (10, 15, float("nan"))],
)
def test_a_place_that_cannot_warm_is_refused(start, end, air):
    with pytest.raises(BadInput, match="never brings a plate"):
        warm_seconds(1.0, start, end, air)


@pytest.mark.parametrize(("mm", "film"), [(0.0, 10.0), (1.0, 0.0), (float("nan"), 10.0)])
def test_time_constant_refuses_nonsense(mm, film):
    with pytest.raises(BadInput):
        time_constant_s(mm, film)


def test_vectorised():
    assert warm_seconds([0.5, 1.0], 10.0, 19.0, 20.0).shape == (2,)
    assert np.all(np.diff(warm_seconds([0.5, 1.0], 10.0, 19.0, 20.0)) > 0)
