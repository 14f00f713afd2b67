"""When a plate is ripe: what a maker is told."""

import importlib.util
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from argentry import trade
from argentry.errors import BadInput
from argentry.keeping.weather import read_weather
from argentry.needs import develop as need
from argentry.needs.frame import Frame
from argentry.physics.lights.sun import sun_times
from argentry.records.needs import StudioNow
from argentry.records.plain import plain
from argentry.sky.place import resolve_place

_spec = importlib.util.spec_from_file_location(
    "light_fixture", Path(__file__).with_name("light_fixture.py")
)
fixture = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(fixture)
PLACE, STUDIO, utc = fixture.PLACE, fixture.STUDIO, fixture.utc


def develop(*given, **named):
    """Return the answer as `--json` prints it."""
    return plain(need.develop(*given, **named))


START = utc(6, 21, 11, 20)  # 13:20 by the studio's clock


def clock(text):
    return datetime.fromisoformat(text)


def test_put_out_at_13_20_in_june_it_is_ripe_in_the_afternoon():
    answer = develop(PLACE, START, Frame())
    assert answer["start"] == "2026-06-21T13:20:00+02:00"
    assert answer["light_suffices"]
    assert 45.0 < answer["minutes"] < 70.0
    took = (clock(answer["end"]) - clock(answer["start"])) / timedelta(minutes=1)
    assert took == pytest.approx(answer["minutes"], abs=1.0)
    low, high = answer["minutes_80"]
    assert low < answer["minutes"] < high
    assert low < 60.0  # makers' notes say 60 to 90 min in the sun
    assert high > 90.0
    assert clock(answer["latest_start"]) > clock(answer["start"])
    assert answer["looks"][:3] == [f"2026-06-21T{t}:00+02:00" for t in ("13:50", "14:20", "14:50")]


def test_a_late_start_is_never_silently_past_sunset():
    answer = develop(PLACE, utc(12, 21, 15, 15), Frame())
    assert not answer["light_suffices"]
    assert answer["end"] is None
    assert answer["minutes"] is None
    assert 0.0 < answer["share_of_dose"] < 1.0
    assert any(
        "not enough light" in text and "% of the dose" in text for text in answer["warnings"]
    )


def test_the_latest_start_still_suffices_and_a_later_one_does_not():
    latest = clock(develop(PLACE, START, Frame())["latest_start"])
    just, late = (
        develop(PLACE, latest + timedelta(minutes=m), Frame())["light_suffices"] for m in (-1, 2)
    )
    assert just
    assert not late


def test_the_skyline_ends_the_light_before_sunset():
    free = develop(PLACE, START, Frame(dose_kj_m2=1500.0))
    masked = develop(resolve_place(STUDIO), START, Frame(dose_kj_m2=1500.0), StudioNow(STUDIO))
    assert clock(masked["time_is_up"]) < clock(free["time_is_up"]) - timedelta(hours=2)
    assert masked["time_is_up_because"] == "half the sun is behind the skyline"
    assert free["time_is_up_because"] == "half the sun has set"


def test_half_the_sun_has_set_before_its_upper_edge():
    """The day sheet's sunset is that of the upper edge (the usual definition of almanacs)."""
    _, sets = sun_times(
        START.date(), PLACE.latitude_deg, PLACE.longitude_deg, PLACE.elevation_m, PLACE.horizon
    )
    half = clock(develop(PLACE, START, Frame(dose_kj_m2=1500.0))["time_is_up"])
    longer = sets.item().replace(tzinfo=UTC) - half
    # half a disc of 32' at 15 degrees an hour, the slower the more slantingly it sets
    assert timedelta(minutes=1) < longer < timedelta(minutes=4)


def test_a_deadline_cuts_the_day():
    answer = develop(PLACE, START, Frame(), deadline=START + timedelta(minutes=40))
    assert not answer["light_suffices"]
    assert answer["time_is_up_because"] == "the deadline"
    assert clock(answer["latest_start"]) < clock(answer["start"])
    with pytest.raises(BadInput, match="--deadline"):
        develop(PLACE, START, Frame(), deadline=START)


def test_an_overcast_afternoon_says_that_development_may_fail(tmp_path):
    dull = develop(PLACE, START, Frame(), weather=read_weather(fixture.forecast(tmp_path, 8)))
    assert dull["ripe_odds"] < 0.9
    assert any("may fail" in t or "not enough light" in t for t in dull["warnings"])
    clear = develop(PLACE, START, Frame(), weather=read_weather(fixture.forecast(tmp_path, 0)))
    assert clear["ripe_odds"] > 0.95
    assert clear["light_suffices"]
    assert dull["ripe_odds"] < clear["ripe_odds"]


def test_a_forecast_that_ends_early_counts_no_light_after_it(tmp_path):
    sky = read_weather(fixture.forecast(tmp_path, 0, range(6, 12)))
    answer = develop(PLACE, START, Frame(), weather=sky)
    assert not answer["light_suffices"]
    assert any("no light is counted on after it" in text for text in answer["warnings"])
    with pytest.raises(BadInput, match="covers"):
        develop(PLACE, utc(6, 21, 15), Frame(), weather=sky)


def test_the_studio_gives_filter_dose_and_density():
    answer = develop(resolve_place(STUDIO), START, Frame(), StudioNow(STUDIO))
    assert answer["cut_on_nm"] == 600.0
    assert answer["dose_kj_m2"] == 600.0
    assert not answer["dose_is_seed"]
    assert not any("density" in text for text in answer["warnings"])  # 6.5 is dense enough


def test_a_thin_filter_leaks():
    assert 4.5 < develop(PLACE, START, Frame())["density_needed"] < 6.5
    answer = develop(PLACE, START, Frame(density=3.0))
    assert any("leaks" in text for text in answer["warnings"])


def test_a_lamp_needs_no_place_and_no_day():
    answer = develop(None, utc(12, 21, 22), Frame(lamp_w=500.0, lamp_m=0.4))
    assert answer["light_suffices"]
    assert answer["place"] is None
    near = develop(None, utc(12, 21, 22), Frame(lamp_w=500.0, lamp_m=0.2))
    assert 3.0 * near["minutes"] < answer["minutes"] < 4.0 * near["minutes"]
    assert any("hot" in text for text in answer["cautions"])
    assert answer["latest_start"] is None
    assert answer["tilt_tolerance_deg"] is None  # no sun to follow
    by = develop(
        None,
        utc(12, 21, 22),
        Frame(lamp_w=500.0, lamp_m=0.2),
        deadline=utc(12, 21, 22) + timedelta(hours=8),
    )
    assert by["latest_start"] is not None


def test_a_lamp_too_far_away_is_called_hopeless():
    answer = develop(None, START, Frame(lamp_w=20.0, lamp_m=2.0))
    assert not answer["light_suffices"]
    assert "attempted" in answer["time_is_up_because"]


def test_the_studio_lamp_is_used_with_its_frame():
    answer = develop(
        resolve_place(STUDIO), utc(12, 21, 22), Frame(frame="lamp frame"), StudioNow(STUDIO)
    )
    assert answer["light"].startswith("halogen lamp")


def test_more_exposure_ripens_and_veils_sooner_and_narrows_the_window():
    less, right, more = (
        develop(PLACE, START, Frame(exposure_stops=stops)) for stops in (-1.0, 0.0, 1.0)
    )
    assert more["minutes"] < right["minutes"] < less["minutes"]
    assert more["minutes_veiled"] < right["minutes_veiled"] < less["minutes_veiled"]
    width = [one["minutes_veiled"] - one["minutes"] for one in (right, more)]
    assert width[1] < width[0]


def test_a_studio_that_knows_its_veil_is_told_by_it():
    habits = replace(STUDIO.habits, veil_ratio=1.5, veil_ratio_sigma_stops=0.1)
    lamp = Frame(lamp_w=500.0, lamp_m=0.2)
    own, usual = (
        plain(need.develop(None, START, lamp, now=StudioNow(replace(STUDIO, habits=one))))
        for one in (habits, STUDIO.habits)
    )
    assert own["minutes"] == usual["minutes"]
    assert own["minutes_veiled"] == pytest.approx(1.5 * own["minutes"], abs=1.0)
    wide, narrow = (a["minutes_veiled_80"][1] / a["minutes_veiled_80"][0] for a in (usual, own))
    assert narrow < 0.8 * wide, "how well the ratio is known is part of its range"


def test_an_end_is_a_window_from_ripe_to_veiled():
    answer = develop(None, utc(12, 21, 22), Frame(lamp_w=500.0, lamp_m=0.2))
    ratio = trade.value("development", "veil_ratio")
    assert answer["minutes_veiled"] == pytest.approx(ratio * answer["minutes"], abs=1.0)
    assert answer["end"] < answer["veiled"]
    low, high = answer["minutes_veiled_80"]
    ripe_low, ripe_high = answer["minutes_80"]
    assert low < answer["minutes_veiled"] < high
    assert high / low > ripe_high / ripe_low  # the veil has a doubt of its own
    late = develop(PLACE, utc(6, 21, 17), Frame())
    assert late["veiled"] is None, "the light ends first"


@pytest.mark.parametrize(
    ("frame", "word"),
    [
        (Frame(cut_on_nm=420.0), "--cut-on"),
        (Frame(cut_on_nm=float("nan")), "--cut-on"),
        (Frame(transmission=0.0), "--transmission"),
        (Frame(density=-1.0), "--density"),
        (Frame(dose_kj_m2=-500.0), "--dose"),
        (Frame(dose_sigma_stops=-1.0), "spread"),
        (Frame(exposure_stops=9.0), "exposure"),
        (Frame(speed_iso=400.0), "speed"),
        (Frame(lamp_w=200.0), "--lamp-m"),
        (Frame(lamp_m=0.3), "--lamp-w"),
        (Frame(lamp_w=-200.0, lamp_m=0.3), "--lamp-w"),
        (Frame(lamp_w=200.0, lamp_m=0.0), "--lamp-m"),
        (Frame(lamp_w=200.0, lamp_m=0.3, lamp_kind="candle"), "lamp"),
        (Frame(lamp_kind="halogen"), "--lamp"),
        (Frame(frame="lamp frame"), "--frame"),
    ],
)
def test_impossible_frames_are_named(frame, word):
    with pytest.raises(BadInput, match=word):
        develop(PLACE, START, frame)


def test_the_sun_needs_a_place_and_a_day():
    with pytest.raises(BadInput, match="--lat and --lon"):
        develop(None, START, Frame())
    with pytest.raises(BadInput, match="below the horizon"):
        develop(PLACE, utc(6, 21, 23), Frame())
    with pytest.raises(BadInput, match="behind the skyline"):
        develop(resolve_place(STUDIO), utc(6, 21, 17), Frame(), StudioNow(STUDIO))
