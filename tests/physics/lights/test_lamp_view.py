"""View factors of lamp and plate: against plain summing, and by reciprocity."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry.physics.lights import lamp_view as view

side = st.floats(0.01, 3.0)
distance = st.floats(0.01, 20.0)


def middles(length, count):
    return (np.arange(count) + 0.5) / count * length - length / 2.0


@pytest.mark.parametrize(
    ("lamp", "plate", "apart"),
    [
        ((1.0, 2.0), (3.0, 0.5), 0.7),
        ((0.3, 0.2), (0.08, 0.11), 0.05),
        ((0.1, 0.1), (0.2, 0.2), 3.0),
    ],
)
def test_rectangles_by_summing(lamp, plate, apart):
    x, y, u, v = np.meshgrid(
        *(middles(s, 50) for s in lamp), *(middles(s, 50) for s in plate), sparse=True
    )
    r2 = (x - u) ** 2 + (y - v) ** 2 + apart**2
    summed = np.mean(apart**2 / (np.pi * r2**2)) * plate[0] * plate[1]
    assert view.rectangle_to_rectangle(lamp, plate, apart) == pytest.approx(summed, rel=2e-3)


@pytest.mark.parametrize("size", [1.0, 0.3])
@pytest.mark.parametrize(("away", "apart"), [(0.0, 1.0), (0.5, 1.0), (2.0, 1.0), (0.9, 0.2)])
def test_a_point_under_a_disc_by_summing(away, apart, size):
    x, y = np.meshgrid(middles(2.0, 800), middles(2.0, 800))
    r2 = (x - away) ** 2 + y**2 + apart**2
    inside = x**2 + y**2 <= 1.0
    summed = np.sum(inside * apart**2 / (np.pi * r2**2)) * (2.0 / 800) ** 2
    found = view.at_point_of_disc(size, away * size, apart * size)
    assert found == pytest.approx(summed, rel=1e-3)


def test_a_point_under_a_rectangle_by_summing():
    x, y = np.meshgrid(middles(1.0, 800), middles(2.0, 800))
    r2 = (x - 0.3) ** 2 + (y - 0.9) ** 2 + 0.49
    summed = np.mean(0.49 / (np.pi * r2**2)) * 2.0
    found = view.at_point_of_rectangle((1.0, 2.0), (0.3, 0.9), 0.7)
    assert found == pytest.approx(summed, rel=1e-4)


def test_a_bare_bulb_lights_a_plate_as_the_sum_of_its_points():
    away = np.hypot(*np.meshgrid(middles(2.0, 100), middles(2.0, 100)))
    lit = np.mean([view.at_point_of_bulb(float(at), 1.0) for at in away.ravel()])
    assert lit * 4.0 == pytest.approx(view.point_to_rectangle((2.0, 2.0), 1.0), rel=1e-3)


@given(side, side, side, side, distance)
def test_what_a_lamp_sends_a_plate_would_send_back(a, b, c, d, apart):
    lamp, plate = (a, b), (c, d)
    there, back = (
        view.rectangle_to_rectangle(*pair, apart) for pair in ((lamp, plate), (plate, lamp))
    )
    assert a * b * there == pytest.approx(c * d * back, rel=1e-5, abs=1e-12)
    there, back = (view.disc_to_disc(*pair, apart) for pair in ((a, c), (c, a)))
    assert a * a * there == pytest.approx(c * c * back, rel=1e-9)


@given(side, side, distance)
def test_a_small_plate_sees_what_its_middle_sees(a, b, apart):
    tiny = 1e-3 * apart
    whole = view.rectangle_to_rectangle((a, b), (tiny, tiny), apart) * a * b / tiny**2
    point = view.at_point_of_rectangle((a, b), (0.0, 0.0), apart)
    assert whole == pytest.approx(point, rel=1e-3)


@pytest.mark.parametrize("radius", [1e-6, 0.03, 0.4, 5.0])
@pytest.mark.parametrize("apart", [0.02, 0.5, 3.0])
def test_before_the_middle_of_a_mouth_it_is_the_sine_of_the_half_angle_squared(radius, apart):
    """Howell B-12: r^2 / (h^2 + r^2), to the digits of the machine however small or far."""
    expected = radius**2 / (apart**2 + radius**2)
    assert view.at_point_of_disc(radius, 0.0, apart) == pytest.approx(expected, rel=1e-9)
    tiny = 1e-7 * apart
    share = view.disc_to_disc(radius, tiny, apart) * radius**2 / tiny**2
    assert share == pytest.approx(expected, rel=1e-9)


def test_a_small_mouth_keeps_its_figures():
    """In the middle r^2 / (h^2 + r^2), here 4e-12: two ones subtracted would lose four figures."""
    assert view.at_point_of_disc(1e-6, 0.0, 0.5) == pytest.approx(1e-12 / (0.25 + 1e-12), rel=1e-12)
