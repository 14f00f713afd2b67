import numpy as np
import pytest
from tests.series import light_series

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import meter
from argentry.physics.lights.bands import broad_band, daylight, exposure_band, luminous_band
from argentry.physics.lights.light import cloud_exponent
from argentry.physics.lights.sky import Atmosphere

HEIGHTS = np.array([5.0, 10.0, 15.0, 20.0, 30.0, 40.0, 60.0])


def test_a_lux_meter_overstates_the_exposure_light_at_low_sun():
    """Trade check: the lower the sun, the more a light meter promises."""
    metered = meter.actinic_from_lux(10_000.0, HEIGHTS)
    assert (np.diff(metered.overstates) < 0).all()
    assert metered.overstates[0] > 3.0
    assert metered.overstates[1] > 2.0
    assert metered.overstates[-1] == pytest.approx(1.0)


def test_a_lux_meter_understates_open_shade_and_more_so_a_window():
    shade = meter.actinic_from_lux(5000.0, HEIGHTS, "shade")
    window = meter.actinic_from_lux(5000.0, HEIGHTS, "window")
    assert (shade.correction_stops > 0.5).all()
    assert (window.correction_stops >= shade.correction_stops - 1e-9).all()


def test_overcast_gains_up_to_half_a_stop():
    dull = meter.actinic_from_lux(5000.0, HEIGHTS[2:], "overcast")
    assert (dull.correction_stops > -0.1).all()
    assert (dull.correction_stops < 0.5).all()


def test_darkness_under_cloud_reads_as_no_light_and_a_usable_share():
    dark = meter.actinic_from_lux(np.array([0.0, 1e-6]), np.array([30.0, 30.0]), "overcast")
    assert dark.actinic_w_m2[0] == 0.0
    assert np.isfinite(dark.correction_stops).all()


def test_reading_scales_the_light():
    one, two = (meter.actinic_from_lux(v, 30.0).actinic_w_m2 for v in (10_000.0, 20_000.0))
    assert two == pytest.approx(2 * one)


@pytest.mark.parametrize("plane", ["sun", "horizontal", "shade", "window"])
def test_the_meter_agrees_with_the_series_it_would_have_read(plane):
    times = np.array(["2026-04-10T07:00", "2026-04-10T11:00"], dtype="datetime64[m]")
    series = light_series(
        times,
        latitude_deg=48.0,
        longitude_deg=2.0,
        elevation_m=0.0,
        atmosphere=Atmosphere(),
        exposure_plane=plane,
    )
    for convert, reading in (
        (meter.actinic_from_lux, series.illuminance_lux),
        (meter.actinic_from_ghi, series.ghi_w_m2),
    ):
        metered = convert(reading, series.elevation_deg, plane)
        assert metered.actinic_w_m2 == pytest.approx(series.exposure_w_m2, rel=1e-6)


def test_correction_needs_light():
    assert np.isnan(meter.correction_stops(np.array([0.0]), np.array([0.0])))[0]


@pytest.mark.parametrize(
    ("reading", "height"), [(-1.0, 30.0), (float("nan"), 30.0), (100.0, 0.0), (100.0, -5.0)]
)
def test_impossible_readings_are_refused(reading, height):
    with pytest.raises(BadInput, match="meter reading"):
        meter.actinic_from_lux(reading, height)


@pytest.mark.parametrize("value", [float("nan"), 99.0])
def test_impossible_exposure_values_are_refused(value):
    with pytest.raises(BadInput, match="exposure value"):
        meter.ev_to_lux(value)


def test_an_exposure_value_is_stated_for_iso_100():
    assert meter.ev_to_lux(12.0) == meter.ev_to_lux(12.0, 100.0)
    assert meter.ev_to_lux(13.0) == pytest.approx(2.0 * meter.ev_to_lux(12.0))
    assert meter.ev_to_lux(12.0, 200.0) == pytest.approx(0.5 * meter.ev_to_lux(12.0))


def test_one_reading_that_is_not_a_number_among_others_is_refused():
    for wrong in (float("nan"), -1.0):
        with pytest.raises(BadInput, match="meter reading"):
            meter.actinic_from_lux(np.array([5000.0, wrong]), np.array([40.0, 40.0]))


def test_a_meter_sees_to_the_end_of_its_response():
    even = ((400.0, 450.0, 550.0), (1.0, 1.0, 1.0))
    band = meter.response_band(even)
    assert (band.wavelength_nm[0], band.wavelength_nm[-1]) == (400.0, 550.0)
    assert band.weight == pytest.approx(1.0)


def test_without_a_reading_there_are_no_stops_to_give():
    violet = meter.exposure_band(None)
    told = meter.more_stops(np.array([1.0, 0.0, 1.0]), np.array([0.0, 1.0, 1.0]), violet, violet)
    assert np.isnan(told).tolist() == [True, True, False]


def test_ev_0_is_two_and_a_half_lux():
    """ISO 2720 with the incident constant 250: EV = log2(100 lux / 250) at ISO 100."""
    told = meter.meter_ev(np.array([2.5, 5.0, 2560.0, 0.0]), luminous_band())
    assert told == pytest.approx([0.0, 1.0, 10.0, -np.inf])


def test_under_the_darkest_cloud_the_correction_is_that_of_the_brightest():
    """What a reading of nothing is multiplied by is told as of a cloud that takes no light."""
    full = meter._clear_reading(luminous_band(), np.float64(40.0), "overcast", Atmosphere())
    dark, bright, dull = (
        meter.actinic_from_lux(lux, 40.0, "overcast") for lux in (0.0, full, full / 10.0)
    )
    assert dark.correction_stops == pytest.approx(bright.correction_stops, abs=1e-9)
    gain = np.log2(10.0) * (1.0 - float(cloud_exponent(np.float64(40.0))))
    assert dull.correction_stops - bright.correction_stops == pytest.approx(gain, abs=1e-9)


def test_a_sky_that_is_all_diffuse_takes_no_more_from_the_violet_than_from_the_eye():
    """Spread over the whole sky a clear day's light is as much: in each band the same share."""
    height, air = np.array([20.0, 50.0]), Atmosphere()
    shares = [
        meter._clear(band, height, "overcast", air) / meter._clear(band, height, "horizontal", air)
        for band in (exposure_band(), luminous_band())
    ]
    assert shares[0] == pytest.approx(shares[1], rel=1e-6)
    # upright under Moon and Spencer's overcast sky (CIE 1955), and half of the ground's light
    seen = 6.0 * (np.pi / 4.0 + 2.0 / 3.0) / (7.0 * np.pi) + air.albedo / 2.0
    assert shares[0] == pytest.approx(seen, abs=1e-3)


@pytest.mark.parametrize("band", [exposure_band(), luminous_band(), meter.response_band(
    ((400.0, 450.0, 550.0), (1.0, 1.0, 1.0)))])  # fmt: skip
def test_the_middle_of_a_band_is_the_mean_of_what_it_sees_of_daylight(band):
    nm, seen = band.wavelength_nm, np.interp(band.wavelength_nm, *daylight()) * band.weight
    parts = np.diff(nm) * np.array([seen[:-1] * nm[:-1] + seen[1:] * nm[1:], seen[:-1] + seen[1:]])
    moment, whole = parts.sum(axis=1)
    assert meter.middle_nm(band) == pytest.approx(moment / whole, rel=1e-9)


def test_every_height_is_looked_at_and_the_faintest_reading_follows_the_law_of_cloud():
    with pytest.raises(BadInput, match="sun is not up"):
        meter.actinic_from_lux(np.array([100.0, 100.0]), np.array([30.0, -1.0]))
    faint, more = (meter.actinic_from_lux(lux, 40.0, "overcast") for lux in (0.5, 8.0))
    gain = 4.0 * (1.0 - float(cloud_exponent(np.float64(40.0))))
    assert faint.correction_stops - more.correction_stops == pytest.approx(gain, abs=1e-9)


def test_meters_of_any_band_show_the_same_ev_in_the_high_sun():
    high = np.array(trade.value("light", "meter_reference_elevation"))
    shown = [
        float(meter.meter_ev(meter._clear_reading(band, high, "sun", Atmosphere()), band))
        for band in (luminous_band(), exposure_band(), broad_band())
    ]
    assert shown == pytest.approx([shown[0]] * 3, abs=1e-9)
    assert shown[0] > 14.0  # a clear high sun: EV 15 and a little more
