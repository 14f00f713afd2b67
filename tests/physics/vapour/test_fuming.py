"""Seconds over iodine."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.errors import BadInput
from argentry.physics.vapour import fuming, iodine

TEMPERATURES = st.floats(-5.0, 45.0)
GAPS = st.floats(5.0, 100.0)
COATS = st.floats(1.0, 250.0)
FEW = settings(max_examples=settings().max_examples // 6)  # up to 0.1 s each

# °C, gap mm, nm, seconds in settled fuming; for 45 nm also from a rested and from a swept box.
# Figures of this model worked out beforehand with other code.
SETTLED = [
    (5, 10, 30, 168), (5, 20, 45, 504), (5, 40, 80, 1791), (10, 20, 60, 411), (15, 20, 30, 128),
    (20, 10, 45, 61), (20, 20, 45, 122), (20, 40, 45, 243), (25, 20, 60, 104), (30, 40, 80, 181),
    (35, 10, 45, 17), (35, 40, 80, 120),
]  # fmt: skip
STARTED = [
    (5, 10, 247, 254), (5, 40, 935, 1043), (15, 20, 175, 200), (20, 10, 57, 63),
    (20, 20, 105, 130), (20, 40, 177, 276), (25, 40, 93, 188), (30, 20, 36, 59), (35, 40, 20, 98),
]  # fmt: skip


@pytest.mark.parametrize(("celsius", "gap", "nm", "expected"), SETTLED)
def test_settled_seconds(celsius, gap, nm, expected):
    rate = fuming.steady_rate_nm_s(box_temperature_c=celsius, gap_mm=gap)
    assert nm / rate == pytest.approx(expected, abs=0.6)


@pytest.mark.parametrize(("celsius", "gap", "rested", "swept"), STARTED)
def test_started_seconds(celsius, gap, rested, swept):
    box = {"box_temperature_c": celsius, "gap_mm": gap}
    assert fuming.seconds_to_thickness(45.0, **box) == pytest.approx(rested, abs=0.6)
    assert fuming.seconds_to_thickness(45.0, rested=False, **box) == pytest.approx(swept, abs=0.6)


def test_trade_check_tens_of_seconds_to_minutes_and_slow_in_the_cold():
    """Common practice: tens of seconds to a few minutes; a cold room makes it crawl."""
    for rested in (True, False):
        warm = fuming.seconds_to_thickness(
            [25.0, 45.0], box_temperature_c=20.0, gap_mm=20.0, rested=rested
        )
        cold = fuming.seconds_to_thickness(
            [25.0, 45.0], box_temperature_c=5.0, gap_mm=20.0, rested=rested
        )
        assert np.all((warm > 20) & (warm < 240))
        assert np.all(cold > 3.5 * warm)


@FEW
@given(COATS, TEMPERATURES, GAPS, st.floats(0.02, 1.0))
def test_rested_is_quicker_than_settled_and_swept_is_slower(nm, celsius, gap, cover):
    box = {"box_temperature_c": celsius, "gap_mm": gap, "cover_share": cover}
    settled = float(nm / fuming.steady_rate_nm_s(**box))
    assert fuming.seconds_to_thickness(nm, rested=True, **box) <= settled * (1 + 1e-9)
    assert fuming.seconds_to_thickness(nm, rested=False, **box) >= settled * (1 - 1e-9)


@FEW
@given(COATS, TEMPERATURES, GAPS, st.booleans())
def test_seconds_fall_with_warmth_and_rise_with_gap_and_coat(nm, celsius, gap, rested):
    def seconds(h, t, g):
        return float(fuming.seconds_to_thickness(h, box_temperature_c=t, gap_mm=g, rested=rested))

    here = seconds(nm, celsius, gap)
    assert seconds(nm, celsius + 1, gap) < here
    assert seconds(nm + 1, celsius, gap) > here
    if not rested:
        assert seconds(nm, celsius, gap + 1) > here


@FEW
@given(TEMPERATURES, GAPS, st.floats(5e4, 1.1e5))
def test_settled_time_is_proportional_to_gap_and_pressure(celsius, gap, pressure):
    rate = fuming.steady_rate_nm_s(box_temperature_c=celsius, gap_mm=gap, pressure_pa=pressure)
    wide = fuming.steady_rate_nm_s(box_temperature_c=celsius, gap_mm=2 * gap, pressure_pa=pressure)
    high = fuming.steady_rate_nm_s(
        box_temperature_c=celsius, gap_mm=gap, pressure_pa=0.95 * pressure
    )
    assert rate == pytest.approx(2 * wide)
    assert rate == pytest.approx(0.95 * high)


@FEW
@given(
    st.floats(0.5, 3000.0), TEMPERATURES, GAPS, st.booleans(), st.sampled_from([None, 1e16, 1e18])
)
def test_thickness_after_is_the_inverse(seconds, celsius, gap, rested, film):
    box = {
        "box_temperature_c": celsius, "gap_mm": gap, "rested": rested, "film_resistance": film,
        "box_factor": 1.3,
    }  # fmt: skip
    nm = float(fuming.thickness_after(seconds, **box))
    if 0.01 < nm < 1000:
        assert fuming.seconds_to_thickness(nm, **box) == pytest.approx(seconds, rel=1e-6)


def test_mass_closes_between_vapour_and_coat():
    """What leaves the crystals in settled fuming is what the coat binds."""
    t, gap_m, cm2 = 293.15, 0.02, 100.0
    flow = iodine.diffusivity_m2_s(t) * iodine.saturated_concentration_mol_m3(t) / gap_m
    arriving_mg_s = flow * cm2 * 1e-4 * 253.809 * 1e3
    nm_s = fuming.steady_rate_nm_s(box_temperature_c=20.0, gap_mm=20.0)
    assert fuming.iodine_mg(nm_s, cm2) == pytest.approx(arriving_mg_s, rel=1e-12)


def test_without_a_film_term_time_is_straight_in_the_long_run():
    t = fuming.seconds_to_thickness([200.0, 300.0, 400.0], box_temperature_c=20.0, gap_mm=20.0)
    assert t[1] - t[0] == pytest.approx(t[2] - t[1], rel=1e-9)


@pytest.mark.parametrize(("k", "added"), [(1e-16, 10), (3e-17, 34), (1e-17, 101), (3e-18, 338)])
def test_film_term_adds_its_square(k, added):
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    more = fuming.seconds_to_thickness(45.0, film_resistance=1 / k, **box)
    assert more - fuming.seconds_to_thickness(45.0, **box) == pytest.approx(added, abs=0.6)


def test_altitude_quickens():
    low = fuming.steady_rate_nm_s(box_temperature_c=20.0, gap_mm=20.0)
    high = fuming.steady_rate_nm_s(box_temperature_c=20.0, gap_mm=20.0, pressure_pa=80000.0)
    assert low / high == pytest.approx(0.79, abs=0.001)


def test_box_factor_multiplies():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0, "film_resistance": 1e17}
    assert fuming.seconds_to_thickness(45.0, box_factor=1.4, **box) == pytest.approx(
        1.4 * fuming.seconds_to_thickness(45.0, **box)
    )


def test_cover_matters_little_until_the_floor_is_mostly_bare():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0, "crystal_spacing_mm": 6.0}
    full, half, tenth = (
        float(fuming.steady_rate_nm_s(cover_share=c, **box)) for c in (1.0, 0.5, 0.1)
    )
    assert 0.95 < half / full < 1
    assert 0.7 < tenth / full < 0.9


def test_rest_time_fills_the_box():
    t = float(fuming.rest_seconds(box_temperature_c=20.0, gap_mm=20.0))
    assert t == pytest.approx(65, abs=1)


def test_arrays_keep_their_shape():
    box = {"box_temperature_c": [[15.0], [20.0]], "gap_mm": 20.0}
    assert fuming.seconds_to_thickness([30.0, 45.0, 60.0], **box).shape == (2, 3)
    assert fuming.seconds_to_thickness(45.0, box_temperature_c=20.0, gap_mm=20.0).shape == ()
    assert fuming.seconds_to_thickness(0.0, box_temperature_c=20.0, gap_mm=20.0) == 0.0


@pytest.mark.parametrize(
    "wrong",
    [
        {"thickness_nm": -1.0},
        {"thickness_nm": float("nan")},
        {"thickness_nm": 2000.0},
        {"box_temperature_c": 90.0},
        {"gap_mm": 0.0},
        {"pressure_pa": 1013.25},
        {"cover_share": 0.0},
        {"cover_share": 1.2},
        {"crystal_spacing_mm": -3.0},
        {"box_factor": 0.0},
        {"film_resistance": -1.0},
    ],
)
def test_bad_input_is_refused_in_one_sentence(wrong):
    good = {"thickness_nm": 45.0, "box_temperature_c": 20.0, "gap_mm": 20.0}
    with pytest.raises(BadInput) as caught:
        fuming.seconds_to_thickness(**{**good, **wrong})
    assert "\n" not in str(caught.value)
    assert str(caught.value).endswith(".")


@pytest.mark.parametrize(
    "call",
    [
        lambda f: fuming.seconds_to_thickness(
            45.0, box_temperature_c=20.0, gap_mm=20.0, box_factor=f
        ),
        lambda f: fuming.thickness_after(60.0, box_temperature_c=20.0, gap_mm=20.0, box_factor=f),
        lambda f: fuming.steady_rate_nm_s(box_temperature_c=20.0, gap_mm=20.0, box_factor=f),
        lambda f: fuming.seconds_range(45.0, box_temperature_c=20.0, gap_mm=20.0, box_factor=f)[0],
    ],
)
def test_a_box_factor_holds_from_a_twentieth_to_twenty(call):
    for within in (0.05, 20.0):
        assert np.isfinite(call(within))
    for beyond in (0.049, 20.1, float("nan")):
        with pytest.raises(BadInput, match="box factor"):
            call(beyond)


def test_what_is_not_said_is_a_rested_box_of_factor_1():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    usual = fuming.seconds_to_thickness(45.0, **box)
    assert usual == fuming.seconds_to_thickness(45.0, rested=True, box_factor=1.0, **box)
    assert usual < fuming.seconds_to_thickness(45.0, rested=False, **box)
    grown = fuming.thickness_after(60.0, **box)
    assert grown == fuming.thickness_after(60.0, rested=True, box_factor=1.0, **box)
    assert fuming.steady_rate_nm_s(**box) == fuming.steady_rate_nm_s(box_factor=1.0, **box)
    ranges = fuming.seconds_range(45.0, **box)
    assert ranges == fuming.seconds_range(45.0, rested=True, box_factor=1.0, share=0.8, **box)


def test_the_thickest_coat_is_a_thousand_nanometres():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    assert np.isfinite(fuming.seconds_to_thickness(1000.0, **box))
    assert np.isfinite(fuming.seconds_range(1000.0, **box)).all()
    for call in (fuming.seconds_to_thickness, fuming.seconds_range):
        with pytest.raises(BadInput, match="thickness"):
            call(1000.1, **box)


def test_the_time_runs_to_a_hundred_thousand_seconds():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    assert fuming.thickness_after(0.0, **box) == 0.0
    assert fuming.thickness_after(1e5, **box) > 1000.0
    for seconds in (-1e-9, 1.001e5):
        with pytest.raises(BadInput, match="seconds"):
            fuming.thickness_after(seconds, **box)


def test_the_ends_of_a_box_factor_are_exact():
    box = {"box_temperature_c": 20.0, "gap_mm": 20.0}
    one = fuming.seconds_to_thickness(25.0, **box)
    for factor in (0.05, 20.0):
        assert fuming.seconds_to_thickness(25.0, box_factor=factor, **box) == pytest.approx(
            factor * one
        )
    for factor in (0.049, 20.1):
        with pytest.raises(BadInput, match="box factor"):
            fuming.seconds_to_thickness(25.0, box_factor=factor, **box)
