"""Lamps over a development frame."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from argentry import trade
from argentry.errors import BadInput
from argentry.physics.lights import lamp
from argentry.physics.lights.bands import development_band
from argentry.trade.sizes import plate_sizes

BAND = development_band(590.0)
KINDS = tuple(trade.toml("development")["lamp"])
QUARTER = (0.08255, 0.10795)
GAIN = trade.value("development", "halogen_gain")


def total(power_w, distance_m, kind, face_m=(None, None), plate_m=QUARTER):
    return lamp.lamp_total_w_m2(power_w, distance_m, kind, plate_m=plate_m, face_m=face_m)


def light(power_w, distance_m, kind, **sizes):
    caught = lamp.lamp_share(kind, BAND.wavelength_nm, BAND.weight)
    return total(power_w, distance_m, kind, **sizes) * caught


def radiated(power_w, kind):
    return power_w * trade.value("development", f"{lamp.lamp_key(kind)}_radiated")


@pytest.mark.parametrize("kind", KINDS)
def test_light_goes_with_power_and_far_away_with_the_square_of_distance(kind):
    assert light(400.0, 0.3, kind) == pytest.approx(2.0 * light(200.0, 0.3, kind))
    assert light(400.0, 6.0, kind) == pytest.approx(0.25 * light(400.0, 3.0, kind), rel=0.01)


@pytest.mark.parametrize(
    ("kind", "spread"), [("halogen", GAIN), ("red led", 1.0), ("bare halogen", 0.25)]
)
def test_far_away_a_lamp_keeps_to_the_old_law(kind, spread):
    old = spread * radiated(200.0, kind) / (np.pi * 4.0**2)
    assert total(200.0, 4.0, kind) == pytest.approx(old, rel=0.004)


def test_a_red_panel_close_to_the_plate_is_told_as_bright_as_it_is():
    """It was told 2546 W/m2: more than eight times what leaves its face."""
    face = (0.3, 0.2)
    exitance = radiated(50.0, "red led") / (0.3 * 0.2)
    close = total(50.0, 0.05, "red led", face)
    assert 0.8 * exitance < close < exitance
    assert radiated(50.0, "red led") / (np.pi * 0.05**2) > 8.6 * close
    # the middle of a plate sees what a plate of no size sees
    tiny = total(50.0, 0.05, "red led", face, plate_m=(1e-4, 1e-4))
    assert close < tiny < exitance


def test_a_round_mouth_lights_a_small_plate_by_the_sine_of_its_half_angle():
    for distance in (0.02, 0.06, 0.3, 2.0):
        sine2 = 0.06**2 / (0.06**2 + distance**2)
        exitance = radiated(200.0, "halogen") / (np.pi * 0.06**2)
        found = total(200.0, distance, "halogen", (0.12, None), plate_m=(1e-4, 1e-4))
        assert found == pytest.approx(exitance * min(GAIN * sine2, 1.0), rel=1e-4)


side = st.floats(0.01, 3.0)


@given(
    st.sampled_from(KINDS),
    side,
    st.none() | side,
    st.floats(0.01, 20.0),
    st.sampled_from(plate_sizes()),
)
def test_no_more_light_falls_on_a_plate_than_the_lamp_gives(kind, width, height, distance, size):
    plate = (size.width_mm / 1000.0, size.height_mm / 1000.0)
    bulb = kind == "bare halogen"
    face = (None, None) if bulb else (width, height)
    found = total(100.0, distance, kind, face, plate)
    sent = radiated(100.0, kind)
    assert 0.0 < found * plate[0] * plate[1] <= sent * (1 + 1e-9)
    if not bulb:
        area = np.pi * width**2 / 4.0 if height is None else width * height
        assert found <= sent / area * (1 + 1e-6)


@given(st.sampled_from(KINDS), st.floats(0.01, 10.0), st.floats(1.01, 2.0))
def test_farther_away_it_is_darker_and_more_even(kind, distance, times):
    assert total(100.0, distance * times, kind) <= total(100.0, distance, kind) * (1 + 1e-9)
    # once farther away than lamp and plate are wide
    if distance > 0.3:
        near, far = (
            lamp.lamp_evenness(d, kind, plate_m=QUARTER) for d in (distance, distance * times)
        )
        assert near <= far * (1 + 1e-9) <= 1.0 + 2e-9


def test_evenness_by_hand():
    # a bare bulb 0.1 m over a plate whose corner is 0.1 m from the middle: 2^-1.5
    plate = (0.1 * np.sqrt(2.0), 0.1 * np.sqrt(2.0))
    assert lamp.lamp_evenness(0.1, "bare halogen", plate_m=plate) == pytest.approx(2.0**-1.5)
    # an endless panel lights every corner alike
    assert lamp.lamp_evenness(0.01, "red led", plate_m=QUARTER, face_m=(3.0, 3.0)) == pytest.approx(
        1.0, abs=1e-3
    )


def test_a_reflector_sends_four_times_its_gain_of_what_a_bare_bulb_does_far_away():
    assert light(200.0, 3.0, "halogen") == pytest.approx(
        4 * GAIN * light(200.0, 3.0, "bare halogen"), rel=0.002
    )


def test_a_halogen_lamp_is_mostly_heat_and_a_red_diode_mostly_light():
    halogen, diode = (lamp.lamp_share(k, BAND.wavelength_nm, BAND.weight) for k in KINDS[::2])
    assert 0.03 < halogen < 0.06
    assert 0.8 < diode < 0.95


def test_the_makers_lamp_notes_come_to_sun_like_doses():
    # three and five and a half hours a foot below 200 W, as kept in development.toml
    hours = np.array([3.0, 5.5])
    kilojoules = light(200.0, 0.3048, "halogen") * hours * 3.6
    fact = trade.facts("development")["dose"]
    assert np.all(kilojoules > fact.low)
    assert np.all(kilojoules < fact.high)


@pytest.mark.parametrize("kind", ["halogen", "red led"])
def test_what_a_response_catches_is_summed_nanometre_by_nanometre(kind):
    at, weight = np.array([600.0, 601.0, 603.0, 640.0]), np.array([0.0, 0.9, 0.9, 0.3])
    nm = np.arange(600.0, 640.5)
    caught = lamp.lamp_spectrum(kind, nm) * np.interp(nm, at, weight)
    share = caught.sum() - (caught[0] + caught[-1]) / 2.0
    assert lamp.lamp_share(kind, at, weight) == pytest.approx(share, rel=1e-9)


def test_a_diode_spectrum_sums_to_one():
    wavelength = np.arange(500.0, 760.0)
    assert np.trapezoid(lamp.diode_spectrum(wavelength, 630.0, 18.0)) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("power", "distance", "kind", "face"),
    [
        (-1.0, 0.3, "halogen", (None, None)),
        (200.0, 0.0, "halogen", (None, None)),
        (200.0, 0.3, "candle", (None, None)),
        (9e9, 1.0, "red led", (None, None)),
        (200.0, 0.3, "red led", (0.0, 0.1)),
        (200.0, 0.3, "red led", (0.1, 9.0)),
        (200.0, 0.3, "bare halogen", (0.1, None)),
    ],
)
def test_impossible_lamps_are_refused(power, distance, kind, face):
    with pytest.raises(BadInput):
        total(power, distance, kind, face)


@pytest.mark.parametrize("face", [(0.3, 0.1), (0.1, 0.3)])
def test_a_long_panel_lights_a_corner_by_its_width_and_its_height(face):
    # a matt face summed in small pieces: each sends cos^2 / r^2 to a plate that faces it
    plate, distance = (0.08, 0.16), 0.12
    across, along = (
        side * ((np.arange(600) + 0.5) / 600.0 - 0.5)[axis]
        for side, axis in zip(face, ((slice(None), None), (None, slice(None))), strict=True)
    )

    def light(x, y):
        square = (across - x) ** 2 + (along - y) ** 2 + distance**2
        return np.sum(distance**2 / square**2)

    found = lamp.lamp_evenness(distance, "red led", plate_m=plate, face_m=face)
    assert found == pytest.approx(light(0.04, 0.08) / light(0.0, 0.0), rel=1e-4)


def test_the_corner_of_a_long_plate_is_darker_than_that_of_a_square_one():
    """Cosine to the fourth over the point: under a bulb its third power, (h / r)^3."""
    plate, height = (0.06, 0.16), 0.1
    corner = np.sqrt(0.03**2 + 0.08**2 + height**2)
    found = lamp.lamp_evenness(height, "bare halogen", plate_m=plate)
    assert found == pytest.approx((height / corner) ** 3, rel=1e-9)
    assert lamp.lamp_evenness(height, "bare halogen", plate_m=plate[::-1]) == pytest.approx(found)


@pytest.mark.parametrize("mouth", [0.05, 0.12])
def test_the_corner_under_a_mouth_by_summing(mouth):
    """Each spot of the mouth lights as h^2 / (pi r^4); the mouth's width is its diameter."""
    x = (np.arange(400) + 0.5) / 400 * mouth - mouth / 2
    spots = np.hypot(*np.meshgrid(x, x)) <= mouth / 2

    def lit(u, v):
        r2 = (x - u)[None, :] ** 2 + (x - v)[:, None] ** 2 + 0.1**2
        return np.sum(spots / r2**2)

    found = lamp.lamp_evenness(0.1, "halogen", plate_m=(0.08, 0.1), face_m=(mouth, None))
    assert found == pytest.approx(lit(0.04, 0.05) / lit(0.0, 0.0), rel=1e-3)


def test_a_lamp_of_no_stated_size_has_the_usual_face_of_its_kind():
    panel, mouth = (trade.value("development", x) for x in ("red_led_panel", "halogen_mouth"))
    assert lamp.lamp_face("red led") == (panel, panel)
    assert lamp.lamp_face("halogen") == (mouth, None)
    assert lamp.lamp_face("bare halogen") is None


def test_a_measured_spectrum_holds_what_its_kind_radiates_over_the_measured_span():
    curve = ((560.0, 600.0, 640.0, 700.0), (0.2, 1.0, 3.0, 0.5))
    fine = np.linspace(560.0, 700.0, 14001)
    held = np.trapezoid(lamp.lamp_spectrum("halogen", fine), fine)
    assert np.trapezoid(lamp.lamp_spectrum("halogen", fine, curve), fine) == pytest.approx(
        held, rel=1e-5
    )
    assert lamp.lamp_spectrum("halogen", np.array([559.0, 701.0]), curve).tolist() == [0.0, 0.0]


def test_a_diode_has_half_its_light_left_half_a_width_away():
    peak, below, above = lamp.diode_spectrum(np.array([630.0, 621.0, 639.0]), 630.0, 18.0)
    assert (below / peak, above / peak) == pytest.approx((0.5, 0.5))


def test_a_lamp_whose_rows_end_is_dark_beyond_them():
    """An even lamp of 370 to 600 nm: 60 nm of violet over 683 lm/W of what the eye sees of it."""
    columns = trade.table("cie_observer_1931").columns
    rows = np.arange(370.0, 601.0)
    eye = np.interp(rows, columns["wavelength_nm"], columns["y_bar"])
    told = lamp.violet_w_m2_per_klx((tuple(rows), (1.0,) * rows.size))
    assert told == pytest.approx(1000.0 * 60.0 / (683.0 * eye.sum()), rel=0.02)
