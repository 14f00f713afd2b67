"""A light meter against the plate and the red frame over a day."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from tests.needs.light_fixture import PLACE, STUDIO

from argentry.desk.pages.meter import HEIGHTS_DEG, meter_of_studio, meter_story
from argentry.errors import BadInput
from argentry.needs.light import light_report
from argentry.records.instruments import Meter, Spectrum
from argentry.sky.place import resolve_place

JUNE = date(2026, 6, 21)
SILICON, SELENIUM = "generic bare silicon meter", "generic selenium meter"


def test_an_eye_corrected_meter_is_corrected_as_light_corrects_lux():
    story = meter_story(PLACE, JUNE)
    for hour in story.hours[::3]:
        report = light_report(
            None, lat=42.0, lon=-1.0, elevation_m=300.0, tz="Europe/Madrid", at=hour.time
        )
        assert hour.exposure_stops == pytest.approx(-report.correction_stops[0], abs=0.01)
        lux = report.illuminance_lux[0]
        assert hour.reading_ev == pytest.approx(np.log2(100.0 * lux / 250.0), abs=0.01)


def test_at_the_height_agreed_on_nothing_is_added_whatever_the_meter():
    for name in (None, SILICON, SELENIUM):
        story = meter_story(PLACE, JUNE, meter=name)
        high = story.card[HEIGHTS_DEG.index(story.agrees_at_deg)]
        assert abs(high.sun_stops) < 0.05  # the place lies 300 m high
        assert abs(high.development_stops) < 0.05


def test_the_card_goes_as_the_sky_does():
    card = meter_story(PLACE, JUNE).card
    in_sun = [row.sun_stops for row in card]
    assert in_sun == sorted(in_sun), "the lower the sun, the less violet for what a meter shows"
    assert all(row.shade_stops < 0.0 for row in card), "the blue sky is rich in violet"
    assert all(row.development_stops < 0.1 for row in card), "a low sun is red"
    silicon = meter_story(PLACE, JUNE, meter=SILICON).card
    assert silicon[-2].sun_stops > card[-2].sun_stops + 0.3, "it sees the red and beyond"


def test_a_plate_that_saw_as_the_meter_does_would_need_nothing():
    # a meter that answers as silver iodide behind the lens: only glass and grid are left
    wavelengths = tuple(float(nm) for nm in range(340, 661, 1))
    from argentry.physics.lights.bands import exposure_band

    band = exposure_band()
    seen = np.interp(wavelengths, band.wavelength_nm, band.weight, right=0.0)
    violet = Spectrum("violet", wavelengths, tuple(seen.tolist()))
    studio = replace(STUDIO, meter=Meter("Violet cell", violet))
    story = meter_story(resolve_place(STUDIO), JUNE, studio)
    assert story.meter == "Violet cell"
    for row in story.card[:-1]:
        assert abs(row.sun_stops) < 0.15
        assert abs(row.shade_stops) < 0.25


def test_times_are_those_of_the_sun_that_day():
    winter = meter_story(PLACE, date(2026, 12, 21)).card
    assert winter[0].morning is None
    assert winter[-1].morning < winter[-1].evening
    assert winter[-1].shadow_m == pytest.approx(11.43, abs=0.01)
    noon = meter_story(PLACE, JUNE).card[0]
    middle = noon.morning + (noon.evening - noon.morning) / 2
    assert middle.strftime("%H:%M")[:3] == "14:"  # 1 degree west on summer time


def test_in_the_polar_night_the_card_still_stands():
    story = meter_story(resolve_place(None, 75.0, 20.0, 0.0, "UTC"), date(2026, 12, 21))
    assert story.hours == ()
    assert len(story.card) == len(HEIGHTS_DEG)


def test_a_meter_that_is_none_is_refused():
    with pytest.raises(BadInput, match="--meter: nonsense is neither a spectrum known here"):
        meter_story(PLACE, JUNE, meter="nonsense")


def test_a_meter_that_is_not_known_is_refused_before_the_studio_is_read(tmp_path):
    with pytest.raises(BadInput, match=f"no meter Box cell; give one of .*{SILICON}"):
        meter_of_studio(tmp_path / "none", JUNE, "Box cell")
