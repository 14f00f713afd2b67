import numpy as np
import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import filter as red

DOSE = red.camera_seconds(
    300.0, f_number=5.6, magnification=0.1, reflectance=0.8, transmission=0.85
)


def test_the_worked_case():
    # 300 s at f/5.6 on a highlight of 80 %; two hours of full sun; a leak of 2 % allowed.
    assert pytest.approx(1.344, abs=1e-3) == DOSE
    assert red.density_needed(DOSE, 7200.0, leak_share=0.02) == pytest.approx(5.43, abs=0.005)


def test_a_filter_of_that_density_leaks_that_share():
    needed = red.density_needed(DOSE, 7200.0, leak_share=0.02)
    assert red.leak(DOSE, 7200.0, needed) == pytest.approx(0.02)


def test_twice_the_time_needs_a_third_more_density():
    more = red.density_needed(DOSE, 14_400.0) - red.density_needed(DOSE, 7200.0)
    assert more == pytest.approx(np.log10(2))


def test_lenses_faster_than_any_that_can_be_are_refused():
    known = {"magnification": 0.0, "reflectance": 1.0, "transmission": 1.0}
    assert red.camera_seconds(100.0, f_number=1.0, **known) == pytest.approx(25.0)  # 1 / (4 N^2)
    assert red.camera_seconds(100.0, f_number=0.51, **known) > 90.0
    with pytest.raises(BadInput, match="f-number"):
        red.camera_seconds(100.0, f_number=0.5, **known)


def test_no_light_on_the_frame_needs_no_density():
    assert red.density_needed(DOSE, 0.0) == 0.0


@pytest.mark.parametrize("dose", [0.0, -1.0, float("nan")])
def test_impossible_doses_are_refused(dose):
    with pytest.raises(BadInput, match="exposure dose"):
        red.density_needed(dose, 7200.0)


@pytest.mark.parametrize(
    ("f_number", "magnification", "seconds"),
    [(2.0, 0.0, 2.5), (2.0, 1.0, 0.625), (4.0, 0.5, 0.278)],
)
def test_a_camera_dims_by_its_stop_and_its_bellows(f_number, magnification, seconds):
    """E = L pi tau / (4 N^2 (1 + m)^2): 100 s on a subject of 50 % through a lens of 80 %."""
    found = red.camera_seconds(
        100.0, f_number=f_number, magnification=magnification, reflectance=0.5, transmission=0.8
    )
    assert found == pytest.approx(seconds, abs=5e-4)


@pytest.mark.parametrize(
    ("frame", "density"), [(0.5, 0.0), (0.8, 0.0), (1.0, 0.0), (1.5, 0.17609), (20.0, 1.30103)]
)
def test_the_density_is_the_logarithm_of_what_must_go(frame, density):
    assert red.density_needed(10.0, frame, leak_share=0.1) == pytest.approx(density, abs=1e-5)


def test_a_spectrum_must_begin_where_the_plate_still_sees():
    edge = trade.value("light", "silver_iodide_edge")
    assert red.leak_density(((edge, 700.0), (0.01, 0.01))) is not None
    assert red.leak_density(((edge + 0.1, 700.0), (0.01, 0.01))) is None
