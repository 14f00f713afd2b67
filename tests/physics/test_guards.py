"""What each formula takes and what it refuses: its ends are the last values that it takes."""

import numpy as np
import pytest
from tests.every import every

from argentry.errors import BadInput
from argentry.physics import stops
from argentry.physics.baths import plating, solutions, water
from argentry.physics.baths.solutions import blend, rounded
from argentry.physics.baths.speciation import silver_held
from argentry.physics.coat import colour
from argentry.physics.coat.coat_colour import candidates, coat_lab
from argentry.physics.coat.coat_words import band
from argentry.physics.coat.film_growth import slowing
from argentry.physics.lights import bands, meter, sun
from argentry.physics.lights import filter as red_filter
from argentry.physics.lights.sky import HIGHEST_AOD, Atmosphere
from argentry.physics.picture import development, dose, exposure, reciprocity, stillness
from argentry.physics.picture.development import MOST_STOPS, ripening
from argentry.physics.room import air, durations, warming
from argentry.physics.vapour import fuming, iodine, room_vapour
from argentry.physics.vapour.evenness import convection_margin_k, evenness
from argentry.physics.vapour.fuming_range import seconds_range
from argentry.physics.vapour.iodine_box import THICKEST_NM

DAYLIGHT = colour.light("D65")
BOX = {"box_temperature_c": 20.0, "gap_mm": 20.0}
LENS = {"f_number": 4.0, "magnification": 0.1, "reflectance": 0.5, "transmission": 0.8}
LIGHT = np.arange(11.0)
NOON = np.array(["2026-06-21T12:00"], dtype="datetime64[ns]")
ANY = None  # this end is another test's
# What is varied, the last values that are taken, and whether the lower one is refused itself.
ENDS = {
    "conductivity": (lambda x: water.at_25c(x, 20.0), 0.0, 2e5),
    "warm water": (lambda x: water.at_25c(500.0, x), 0.0, 60.0),
    "conductivity of salts": (water.solids_mg_l, 0.0, 2e5),
    "hardness": (lambda x: water.hardness_mg_l(x, "mg/L"), 0.0, 1e4),
    "salts left": (water.residue_ug_cm2, 0.0, 1e5),
    "salts of a drop": (water.drop_ring_nm, 0.0, 1e5),
    "drop": (lambda x: water.drop_ring_nm(100.0, x), 0.1, 1e4),
    "film of water": (lambda x: water.residue_ug_cm2(100.0, x), 0.0, 1e4),
    "strong solution": (lambda x: blend(x, 1.0, 1.0, 10.0), 0.0, 1e4, "open"),
    "weak solution": (lambda x: blend(5e3, x, 5e3, 10.0), 0.0, 1e4),
    "volume": (lambda x: blend(2.0, 1.0, 1.5, x), 0.0, 1e6, "open"),
    "spirit": (solutions.spirit_density_kg_m3, 0.0, 100.0),
    "spirit to thin": (lambda x: solutions.thin_spirit(x, 1.0, 100.0), 1.0, 100.0),
    "thinned spirit": (lambda x: solutions.thin_spirit(90.0, x, 100.0), 0.0, 90.0, "open"),
    "volume of spirit": (lambda x: solutions.thin_spirit(90.0, 50.0, x), 0.0, 1e6, "open"),
    "poured": (lambda x: solutions.mixed_temperature_c([x, 1.0], [20.0, 30.0]), 0.0, 1e6),
    "poured warm": (lambda x: solutions.mixed_temperature_c([1.0], [x]), 0.0, 100.0),
    "dissolved": (lambda x: solutions.cooling_k("Na2S2O3·5H2O", x, 1e6), 0.0, 1e6),
    "water to dissolve": (lambda x: solutions.cooling_k("Na2S2O3·5H2O", 0.0, x), 1e-6, 1e6),
    "balance": (lambda x: rounded(1.0, x), 0.0, 1e3, "open"),
    "hypo": (silver_held, 0.0, 10.0),
    "current": (lambda x: plating.silver_g(x, 10.0), 0.0, 1000.0),
    "plating time": (lambda x: plating.silver_g(1.0, x), 0.0, 1e5),
    "current of a layer": (lambda x: plating.minutes_for(5.0, 100.0, x), 1e-4, 1000.0),
    "silver": (lambda x: plating.layer_g(x, 100.0), 0.0, 5000.0),
    "plated area": (lambda x: plating.layer_g(1.0, x), 0.01, 1e6),
    "weighed area": (lambda x: plating.layer_um(0.1, x), 0.01, 1e6),
    "weight before": (lambda x: plating.weighed_um(x, 1e5, 100.0), 0.0, 1e5),
    "weight after": (lambda x: plating.weighed_um(0.0, x, 100.0), 0.0, 1e5),
    "damp air": (lambda x: air.dew_point_c(20.0, x), 1.0, 100.0),
    "wet bulb": (lambda x: air.relative_humidity_from_wet_bulb(1.0, x), 0.0, ANY),
    "plate to sweat": (lambda x: air.dew_margin_k(x, 20.0, 50.0), -30.0, 100.0),
    "plate on the box": (lambda x: slowing(20.0, x), -30.0, 100.0),
    "damp on the box": (lambda x: slowing(20.0, None, x), 0.0, 100.0),
    "pressure of a sky": (lambda x: Atmosphere(pressure_pa=x), 45_000.0, 108_000.0),
    "haze": (lambda x: Atmosphere(aod500=x), 0.0, HIGHEST_AOD),
    "ground": (lambda x: Atmosphere(albedo=x), 0.0, 0.95),
    "lens": (bands.exposure_band, 0.0, 1.0, "open"),
    "cut-on": (bands.development_band, 480.0, 690.0),
    "filter": (lambda x: bands.development_band(600.0, x), 0.0, 1.0, "open"),
    "latitude": (lambda x: sun.sun_path(NOON, x, 0.0), -90.0, 90.0),
    "longitude": (lambda x: sun.sun_path(NOON, 0.0, x), -180.0, 180.0),
    "spread": (lambda x: stops.spread(1.0, x), 0.0, 5.0),
    "sitting": (lambda x: stillness.head_motion_mm("seated", x), 0.0, ANY),
    "image": (stillness.stillness_budget_mm, 0.0, 20.0, "open"),
    "stated at": (lambda x: reciprocity.reciprocity(0.9, x), 0.0, 1e6, "open"),
    "EV of a meter": (meter.ev_to_lux, -6.0, 24.0),
    "ISO of a meter": (lambda x: meter.ev_to_lux(10.0, x), 0.00001, 1e6),
    "exposed": (development.window, -MOST_STOPS, MOST_STOPS),
    "dose": (development.development_dose_j_m2, 1.0, 1e5),
    "over and under": (
        lambda x: development.development_dose_j_m2(None, x), -MOST_STOPS, MOST_STOPS,
    ),
    "waited": (development.fading_stops, 0.0, 10_000.0),
    "step": (lambda x: dose.cumulative_j_m2(LIGHT, x), 0.0, 86_400.0, "open"),
    "dose to reach": (lambda x: dose.end_index(LIGHT, 0.0, x), 0.0, ANY),
    "begun at": (lambda x: dose.end_index(LIGHT, x, 1.0), 0.0, 10.0),
    "activation": (lambda x: durations.temperature_factor(x, 20.0, 20.0), 0.0, 200.0),
    "temperature": (lambda x: durations.temperature_factor(50.0, x, 20.0), 0.0, 60.0),
    "at a temperature": (lambda x: durations.temperature_factor(50.0, 20.0, x), 0.0, 60.0),
    "drying air": (lambda x: durations.drying_factor(x, 50.0), 0.0, 98.0),
    "reference humidity": (lambda x: durations.drying_factor(50.0, x), 0.0, 98.0),
    "tilt": (lambda x: evenness(20.0, tilt_mm=x), 0.0, 20.0),
    "coat": (lambda x: evenness(20.0, thickness_nm=x), 0.0, THICKEST_NM),
    "plate speed": (lambda x: exposure.incident_lux_seconds(x, 4.0), 1e-6, 10.0),
    "speed from seconds": (
        lambda x: exposure.effective_speed_iso(4.0, x, 15.0), 0.0, 1e6, "open",
    ),
    "speed from EV": (lambda x: exposure.effective_speed_iso(4.0, 10.0, x), -10.0, 20.0),
    "bellows": (exposure.bellows_factor, 0.0, 20.0),
    "pupils": (lambda x: exposure.bellows_factor(0.1, x), 0.1, 10.0),
    "coat speed": (
        lambda x: exposure.exposure_dose_j_m2(
            plate_speed_iso=1e-3, f_number=4.0, relative_coat_speed=x
        ), 0.01, 10.0,
    ),
    "camera": (lambda x: red_filter.camera_seconds(x, **LENS), 0.0, 86_400.0, "open"),
    "f-number": (
        lambda x: red_filter.camera_seconds(1.0, **LENS | {"f_number": x}), 0.5, 1000.0, "open",
    ),
    "camera image": (
        lambda x: red_filter.camera_seconds(1.0, **LENS | {"magnification": x}), 0.0, 10.0,
    ),
    "reflectance": (
        lambda x: red_filter.camera_seconds(1.0, **LENS | {"reflectance": x}), 0.0, 1.0, "open",
    ),
    "camera lens": (
        lambda x: red_filter.camera_seconds(1.0, **LENS | {"transmission": x}), 0.0, 1.0, "open",
    ),
    "leak": (lambda x: red_filter.density_needed(1.0, 1.0, leak_share=x), 0.0, 1.0, "open"),
    "plate's dose": (lambda x: red_filter.density_needed(x, 1.0), 0.0, 1e12, "open"),
    "frame's dose": (lambda x: red_filter.density_needed(1.0, x), 0.0, 1e12),
    "dose that leaks": (lambda x: red_filter.leak(x, 1.0, 1.0), 0.0, 1e12, "open"),
    "density": (lambda x: red_filter.leak(1.0, 1.0, x), 0.0, 20.0),
    "fumed": (lambda x: fuming.seconds_to_thickness(x, **BOX), 0.0, THICKEST_NM),
    "box": (
        lambda x: fuming.seconds_to_thickness(20.0, **BOX, box_factor=x), 0.05, 20.0,
    ),
    "box after": (lambda x: fuming.thickness_after(20.0, **BOX, box_factor=x), 0.05, 20.0),
    "steady box": (lambda x: fuming.steady_rate_nm_s(**BOX, box_factor=x), 0.05, 20.0),
    "seconds": (lambda x: fuming.thickness_after(x, **BOX), 0.0, 1e5),
    "fumed in a range": (lambda x: seconds_range(x, **BOX), 0.0, THICKEST_NM),
    "share": (lambda x: seconds_range(20.0, **BOX, share=x), 0.01, 0.99),
    "box of a range": (lambda x: seconds_range(20.0, **BOX, box_factor=x), 0.05, 20.0),
    "vapour in ppm": (lambda x: room_vapour.mg_m3(x, 250.0), 0.0, 1e6),
    "vapour": (lambda x: room_vapour.ppm_of(x, 250.0), 0.0, 1e9),
    "open tray": (lambda x: room_vapour.open_tray_mg_s(x, 20.0), 0.0, 1e5),
    "still air": (lambda x: room_vapour.open_tray_mg_s(10.0, 20.0, x), 0.1, 1000.0),
    "source": (lambda x: room_vapour.room_mg_m3(x, 60.0, 30.0, 2.0), 0.0, 1e9),
    "time in a room": (lambda x: room_vapour.room_mg_m3(1.0, x, 30.0, 2.0), 0.0, 1e9),
    "room": (lambda x: room_vapour.room_mg_m3(1.0, 60.0, x, 2.0), 0.1, 1e5),
    "air changes": (lambda x: room_vapour.room_mg_m3(1.0, 60.0, 30.0, x), 1e-3, 1e3),
    "strength before": (
        lambda x: room_vapour.room_mg_m3(1.0, 60.0, 30.0, 2.0, x), 0.0, 1e9,
    ),
    "strength": (lambda x: room_vapour.minutes_to_air(x, 1.0, 2.0), 0.0, 1e12),
    "limit": (lambda x: room_vapour.minutes_to_air(1.0, x, 2.0), 1e-12, 1e12),
    "airing": (lambda x: room_vapour.minutes_to_air(2.0, 1.0, x), 1e-3, 1e3),
    "thiosulfate": (room_vapour.sulfur_dioxide_mg, 0.0, 1e5),
    "air's water": (lambda x: room_vapour.water_g_m3(20.0, x), 0.0, 100.0),
    "air that dries": (lambda x: room_vapour.drying_minutes(x, 50.0), 0.0, 45.0),
    "damp that dries": (lambda x: room_vapour.drying_minutes(20.0, x), 1.0, 98.0),
    "water film": (lambda x: room_vapour.drying_minutes(20.0, 50.0, x), 0.1, 1e4),
    "heat": (lambda x: room_vapour.drying_minutes(20.0, 50.0, None, x), 0.5, 200.0),
    "box to dry": (lambda x: room_vapour.silica_gel_g(x, 20.0, 50.0), 0.0, 1e4),
    "openings": (lambda x: room_vapour.silica_gel_g(10.0, 20.0, 50.0, x), 0.0, 1e4),
    "wood": (lambda x: room_vapour.silica_gel_g(10.0, 20.0, 50.0, 0, x), 0.0, 50.0),
    "colour's coat": (lambda x: candidates((60.0, 1.0, 5.0), DAYLIGHT, prior_nm=(20.0, x)),
                      0.0, 250.0, "open"),
    "colour's likely coat": (lambda x: candidates((60.0, 1.0, 5.0), DAYLIGHT, prior_nm=(x, 5.0)),
                             0.0, 250.0),
    "word's coat": (band, 0.0, ANY),
}  # fmt: skip


@every("name", ENDS)
def test_the_last_value_is_taken_and_the_next_refused(name):
    of, low, high, *open_low = ENDS[name]
    for last, outward in ((low, -1.0), (high, 1.0)):
        if last is None:
            continue
        if outward < 0.0 and open_low:
            taken, refused = last * (1.0 + 1e-9) or 1e-9, last
        else:
            taken, refused = last, np.nextafter(last, outward * np.inf)
        of(taken)
        with pytest.raises(BadInput):
            of(refused)


def test_the_ends_of_a_colour_and_of_a_focal_length():
    candidates((95.0, 1.0, 5.0), DAYLIGHT)
    with pytest.raises(BadInput):
        candidates((400.0, 1.0, 5.0), DAYLIGHT)
    exposure.magnification(20.0, 20.0)
    with pytest.raises(BadInput):
        exposure.magnification(19.9, 20.0)


def test_a_coat_is_looked_at_straight_unless_an_angle_is_given():
    assert coat_lab(25.0, DAYLIGHT).tolist() == coat_lab(25.0, DAYLIGHT, angle_deg=0.0).tolist()
    assert coat_lab(25.0, DAYLIGHT).tolist() != coat_lab(25.0, DAYLIGHT, angle_deg=1.0).tolist()


def test_a_plate_lies_level_unless_a_tilt_is_given():
    assert evenness(20.0) == evenness(20.0, tilt_mm=0.0) != evenness(20.0, tilt_mm=1.0)


def test_an_amount_is_told_to_the_step_of_its_balance():
    told = [(1.0272, 0.05, 1.05), (12.4, 5.0, 10.0), (12.5, 5.0, 15.0), (0.3, 0.1, 0.3)]
    assert [rounded(x, step) for x, step, _ in told] == pytest.approx([y for *_, y in told])


def test_a_plate_ripe_at_the_very_end_of_the_light_is_ripe():
    received = 60.0 * np.arange(601.0)  # of one watt, by minute
    found = ripening(received, 0.0, np.full(3, 6000.0), 100.0)
    assert found.end_index == pytest.approx(100.0)


def test_a_blend_has_the_strength_and_the_volume_asked_for():
    first, second = blend(200.0, 50.0, 80.0, 500.0)
    assert first + second == pytest.approx(500.0)
    assert 200.0 * first + 50.0 * second == pytest.approx(80.0 * 500.0)


@pytest.mark.parametrize("wanted", [300.0, -1.0])
def test_no_blend_is_stronger_or_weaker_than_both(wanted):
    with pytest.raises(BadInput):
        blend(200.0, 0.0, wanted, 500.0)


# What holds one wrong number among right ones.
ONE_WRONG = {
    "air and wick": lambda: air.relative_humidity_from_wet_bulb([20.0, 20.0], [15.0, 21.0]),
    "air and a dry wick": lambda: air.relative_humidity_from_wet_bulb([20.0, 40.0], [15.0, 5.0]),
    "gap": lambda: convection_margin_k([20.0, 0.0], 20.0, 20.0),
    "air in the box": lambda: iodine.diffusivity_m2_s([298.0, 0.0]),
    "its pressure": lambda: iodine.diffusivity_m2_s(298.0, [1e5, 0.0]),
    "coat": lambda: iodine.iodine_mg([45.0, -1.0], 89.0),
    "area": lambda: iodine.iodine_mg(45.0, [89.0, -1.0]),
    "box": lambda: iodine.headspace_loss_mg([1.0, -1.0], 20.0),
    "meter": lambda: meter.actinic_from_lux([1e4, -1.0], 30.0),
    "meter that fails": lambda: meter.actinic_from_lux([1e4, np.inf], 30.0),
    "sun": lambda: meter.actinic_from_lux(1e4, [30.0, 0.0]),
    "plate to warm": lambda: warming.warm_seconds(1.0, 10.0, [19.0, 21.0], 20.0),
}  # fmt: skip


@pytest.mark.parametrize("name", ONE_WRONG)
def test_one_wrong_number_among_right_ones_is_refused(name):
    with pytest.raises(BadInput):
        ONE_WRONG[name]()
