from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from argentry.errors import BadInput
from argentry.keeping.weather import read_weather
from argentry.needs import light as answers
from argentry.records.instruments import DevelopmentFrame, IodineBox, Lens
from argentry.records.plain import plain
from argentry.records.studio import Habits, Room, Site, Studio, Water
from argentry.records.weather import Outlook
from argentry.sky.meter_reading import MeterReading


def light_report(*given, **named):
    """Return the answer as --json has it, its numbers as arrays that can be compared."""
    said = plain(answers.light_report(*given, **named))
    return {
        key: np.array(value, dtype=float)
        if isinstance(value, list) and key not in ("time", "notes", "numbers_in_use")
        else value
        for key, value in said.items()
    }


FORECAST = Path(__file__).parents[2] / "examples" / "forecast.csv"
NOON = datetime(2026, 6, 21, 12, 0, tzinfo=UTC)
PLACE = {"lat": 50.0, "lon": 8.0}
STUDIO = Studio(
    name="Invented studio",
    site=Site("Invented hill", 50.0, 8.0, 300.0, "Europe/Berlin", haze_aod=0.1),
    lenses=(Lens("Invented lens", 5.6, 210.0, near_uv_transmission=0.45),),
    boxes=(IodineBox("box", 20.0, 100.0, 200.0),),
    frames=(DevelopmentFrame("frame", 620.0, 0.8),),
    room=Room(20.0, 50.0),
    water=Water("distilled"),
    habits=Habits(),
)


def test_one_time_gives_lists_of_one():
    report = light_report(None, **PLACE, at=NOON)
    assert report["time"] == ["2026-06-21T12:00:00+00:00"]
    for key in (
        "elevation_deg",
        "azimuth_deg",
        "actinic_w_m2",
        "development_w_m2",
        "ghi_w_m2",
        "illuminance_lux",
        "meter_overstates",
    ):
        assert len(report[key]) == 1
    assert (
        report["actinic_low_w_m2"][0] < report["actinic_w_m2"][0] < report["actinic_high_w_m2"][0]
    )


def test_both_ends_of_a_span_are_given():
    report = light_report(None, **PLACE, start=NOON, end=NOON.replace(hour=14), step_minutes=30.0)
    assert len(report["time"]) == 5
    assert report["time"][-1] == "2026-06-21T14:00:00+00:00"


def test_the_studios_lens_filter_place_and_clock_are_used():
    bare = light_report(None, **PLACE, elevation_m=300.0, haze=0.1, at=NOON)
    own = light_report(STUDIO, at=NOON)
    assert own["time"] == ["2026-06-21T14:00:00+02:00"]
    assert own["actinic_w_m2"][0] == pytest.approx(bare["actinic_w_m2"][0] / 2)
    assert own["cut_on_nm"] == 620.0
    assert own["development_w_m2"][0] < bare["development_w_m2"][0]
    assert light_report(STUDIO, at=NOON, cut_on_nm=590.0)["development_w_m2"][0] == pytest.approx(
        bare["development_w_m2"][0] * 0.8 / 0.9
    )


def test_a_skyline_hides_the_sun_and_is_told():
    walled = replace(STUDIO, site=replace(STUDIO.site, horizon=((0.0, 70.0),)))
    report = light_report(walled, at=NOON)
    assert report["actinic_w_m2"][0] < 0.2 * light_report(STUDIO, at=NOON)["actinic_w_m2"][0]
    assert any("skyline" in note for note in report["notes"])


def test_night_gives_no_light_and_says_when_the_sun_is_up():
    report = light_report(None, **PLACE, at=NOON.replace(hour=23))
    assert report["actinic_w_m2"][0] == 0.0
    assert np.isnan(report["meter_overstates"][0])
    assert any("there is no light. On 2026-06-21 it is up from" in n for n in report["notes"])


def test_a_light_meter_overstates_the_exposure_light_at_low_sun_by_a_shown_factor():
    """Trade check: at low sun a luminous meter promises too much."""
    report = light_report(None, **PLACE, start=NOON.replace(hour=12), end=NOON.replace(hour=19))
    low = report["elevation_deg"] < 10
    assert low.any()
    assert (report["meter_overstates"][low] > 2.0).all()
    assert (np.diff(report["meter_overstates"]) > 0).all()


def test_a_reading_is_turned_into_exposure_light():
    evening = NOON.replace(hour=18)
    report = light_report(None, **PLACE, at=evening, reading=MeterReading(lux=30_000.0))
    metered = report["meter"]
    assert metered["overstates"] == pytest.approx(report["meter_overstates"][0])
    assert metered["correction_stops"] < -0.7
    share = 30_000.0 / report["illuminance_lux"][0]
    assert metered["actinic_w_m2"] == pytest.approx(share * report["actinic_w_m2"][0])


def test_ev_is_read_as_lux():
    ev = light_report(None, **PLACE, at=NOON, reading=MeterReading(ev=15.0))["meter"]
    lux = light_report(None, **PLACE, at=NOON, reading=MeterReading(lux=81_920.0))["meter"]
    assert ev["actinic_w_m2"] == pytest.approx(lux["actinic_w_m2"])
    assert ev["lux"] == 81_920.0


def test_a_pyranometer_under_cloud():
    clear = light_report(None, **PLACE, at=NOON, plane="overcast")
    reading = MeterReading(ghi_w_m2=float(clear["ghi_w_m2"][0]))
    metered = light_report(None, **PLACE, at=NOON, plane="overcast", reading=reading)["meter"]
    assert metered["actinic_w_m2"] == pytest.approx(clear["actinic_w_m2"][0], rel=0.01)


def test_an_overcast_day_is_told_with_a_wide_range():
    dull, clear = (light_report(None, **PLACE, at=NOON, plane=p) for p in ("overcast", "shade"))
    spread = [r["actinic_high_w_m2"][0] / r["actinic_low_w_m2"][0] for r in (dull, clear)]
    assert spread[0] > 4 > 2.5 > spread[1]
    assert "overcast" in dull["sky"]
    assert dull["ghi_w_m2"][0] < 0.3 * clear["ghi_w_m2"][0]


def test_naive_times_without_a_zone_are_told_to_be_utc():
    report = light_report(None, **PLACE, at=datetime.fromisoformat("2026-06-21T12:00"))
    assert any("read as UTC" in note for note in report["notes"])
    zoned = light_report(
        None, **PLACE, tz="Europe/Berlin", at=datetime.fromisoformat("2026-06-21T14:00")
    )
    assert zoned["notes"] == []
    assert zoned["actinic_w_m2"] == pytest.approx(report["actinic_w_m2"])


def test_an_hour_that_comes_twice_is_told():
    at = datetime.fromisoformat("2026-10-25T02:30")
    report = light_report(None, **PLACE, tz="Europe/Berlin", at=at)
    assert any("happens twice" in note for note in report["notes"])


def test_a_weather_file_dims_the_light():
    text = [row for row in FORECAST.read_text().splitlines() if row[:4].isdigit()]
    at = datetime.fromisoformat(text[len(text) // 2].split(",")[0])
    place = {"lat": 40.4, "lon": -3.7, "tz": "Europe/Madrid"}
    day = [at.replace(hour=8), at.replace(hour=18)]
    clear = light_report(None, **place, start=day[0], end=day[1])
    told = Outlook(read_weather(FORECAST))
    read = light_report(None, **place, start=day[0], end=day[1], outlook=told)
    assert read["sky"].startswith("sky from")
    assert read["ghi_w_m2"].sum() < clear["ghi_w_m2"].sum()


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        ({}, "none is given"),
        ({"start": NOON}, "half of the span"),
        ({"at": NOON, "end": NOON}, "a span is given too"),
        ({"start": NOON, "end": NOON.replace(hour=11)}, "before --from"),
        ({"start": NOON, "end": NOON, "step_minutes": 0.0}, "--step"),
        ({"start": NOON, "end": NOON, "step_minutes": float("nan")}, "--step"),
        (
            {"start": NOON, "end": NOON.replace(year=2028), "step_minutes": 0.5},
            "take a longer step",
        ),
        ({"at": NOON, "plane": "ceiling"}, "is not a plane"),
        ({"at": NOON, "cut_on_nm": 1000.0}, "--cut-on"),
        ({"at": NOON, "haze": -1.0}, "--haze"),
        ({"at": NOON, "reading": MeterReading(lux=-5.0)}, "--lux"),
        ({"at": NOON, "reading": MeterReading(lux=float("nan"))}, "--lux"),
        ({"at": NOON, "reading": MeterReading(ev=99.0)}, "--ev"),
        ({"at": NOON, "reading": MeterReading(ghi_w_m2=5000.0)}, "--ghi"),
        ({"at": NOON, "reading": MeterReading(lux=1.0, ev=2.0)}, "give one reading"),
        ({"at": NOON.replace(hour=23), "reading": MeterReading(lux=1.0)}, "the sun is down then"),
        (
            {"start": NOON, "end": NOON.replace(hour=14), "reading": MeterReading(lux=1.0)},
            "one time",
        ),
        (
            {"at": datetime.fromisoformat("2026-03-29T02:30"), "tz": "Europe/Berlin"},
            "does not exist",
        ),
    ],
)
def test_impossible_questions_are_refused(options, sentence):
    with pytest.raises(BadInput, match=sentence):
        light_report(None, **PLACE, **options)
