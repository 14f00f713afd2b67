"""Lengths put right by what is read: the box, the room, the damp, the light."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from tests import bench_studio as made

from argentry.book.engine import close_book
from argentry.book.log import events
from argentry.book.open import open_book
from argentry.book.readings import add_readings
from argentry.day.planner_light import filters_of, lit_day
from argentry.desk.bench import run as bench
from argentry.needs.development_time import development_dose
from argentry.needs.fume import Fuming, fume
from argentry.needs.light_lengths import PICTURES, light_length
from argentry.needs.red_light import light_behind
from argentry.records.ids import new_id
from argentry.records.needs import StudioNow
from argentry.records.plate import Reading
from argentry.records.run import RunReading
from argentry.records.studio import Subject
from argentry.records.weather import Weather
from argentry.sky.clear_day import (
    Found,
    against_clear,
    clear_day,
    expected_shares,
    frame_of,
    light_of,
    shares_now,
)
from argentry.sky.place import resolve_place
from argentry.sky.sky_day import sky_day
from argentry.sky.weather.days import sky_days

NOON = datetime(2026, 6, 21, 12, tzinfo=UTC)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def book(tmp_path):
    opened = open_book(tmp_path)
    yield opened
    close_book(opened)


@pytest.fixture
def table(book):
    return made.Table(book, made.studio())


def changes(plate, key):
    return plate.step(key).changes


def test_a_colder_box_lasts_longer_and_says_why(table):
    table.open("A1", "B2")
    table.say("reading_taken", what="box_c", value=14)
    expected = fume(Fuming(25.0, box_temperature_c=14.0), StudioNow(table.studio)).seconds
    for plate in table.state().plates:
        step = plate.step("iodise")
        assert step.planned_s == pytest.approx(expected, abs=0.1)
        assert len(step.changes) == 1
        assert step.changes[0].why.startswith("box at 14 °C: ")
        assert "instead of" in step.changes[0].why
        assert step.low_s < step.planned_s < step.high_s


def test_the_same_reading_again_changes_nothing(table):
    table.open("A1")
    table.say("reading_taken", what="box_c", value=14)
    table.say("reading_taken", what="box_c", value=14.2)
    assert len(changes(table.plate(), "iodise")) == 1


def test_a_box_that_has_the_rooms_temperature_follows_the_room(table):
    table.open("A1")
    table.say("reading_taken", what="room_c", value=26)
    change = changes(table.plate(), "iodise")[0]
    assert change.planned_s < change.was_s
    assert change.why.startswith("room and box at 26 °C")


def test_a_box_held_warm_does_not_follow_the_room(book):
    own = made.studio()
    own = replace(own, boxes=(replace(own.boxes[0], temperature_c=20.0),))
    table = made.Table(book, own)
    table.open("A1")
    table.say("reading_taken", what="room_c", value=26)
    assert changes(table.plate(), "iodise") == ()
    assert changes(table.plate(), "fix") != ()


def test_fixing_goes_by_the_bath_when_it_was_read(table):
    table.open("A1")
    before = table.plate().step("fix").planned_s
    table.say("reading_taken", what="room_c", value=26)
    table.say("reading_taken", what="bath_c", value=12)
    step = table.plate().step("fix")
    # Arrhenius by hand: 20 kJ/mol from 20 to 12 °C
    factor = math.exp(20000 / 8.314462618 * (1 / 285.15 - 1 / 293.15))
    assert step.planned_s == pytest.approx(before * factor, rel=1e-3)
    assert step.changes[-1].why.startswith("bath at 12 °C")


def test_damp_air_dries_slower(table):
    table.open("A1")
    before = table.plate().step("dry").planned_s
    table.say("reading_taken", what="room_rh_pct", value=75)
    assert table.plate().step("dry").planned_s == pytest.approx(2 * before, rel=1e-3)


def test_a_step_that_is_over_keeps_its_length(table):
    plate = table.open("A1").plates[0].id
    table.cautions()
    table.up_to("load")
    table.say("reading_taken", what="box_c", value=12)
    assert changes(table.plate(), "iodise") == ()
    assert plate == table.plate().id


def test_a_stale_reading_is_not_used(table):
    table.open("A1")
    table.wait(3 * 3600)
    table.say("reading_taken", what="box_c", value=14, age_s=2 * 3600.0)
    assert changes(table.plate(), "iodise") == ()


def test_a_withdrawn_reading_stops_counting(table):
    table.open("A1")
    first = table.say("reading_taken", what="room_c", value=20.5)
    wrong = table.say("reading_taken", what="box_c", value=4)
    usual = changes(table.plate(), "iodise")[0].was_s
    table.say("corrected", event=wrong.id, withdrawn=True)
    assert table.plate().step("iodise").planned_s == pytest.approx(usual, rel=0.06)
    assert first.seq < wrong.seq


def test_a_bath_too_cold_for_the_law_leaves_the_length(table):
    table.open("A1")
    table.say("reading_taken", what="bath_c", value=-3)
    assert changes(table.plate(), "fix") == ()


def test_a_sensor_tells_as_a_person_does(table, book):
    table.open("A1")
    now = table.clock.now()
    add_readings(book, [Reading(new_id(), "box_c", 14.0, "°C", now, "thermometer")])
    written = bench.refresh_open(book, table.studio, table.clock, "box_c")
    assert len(written) == 1
    assert table.plate().step("iodise").changes[0].why.startswith("box at 14 °C")
    assert bench.refresh_open(book, table.studio, table.clock, "box_c") == []
    assert bench.refresh_open(book, table.studio, table.clock, "water_us_cm") == []


def test_a_restless_sensor_does_not_fill_the_log(table, book):
    table.open("A1")
    written = 0
    for number in range(24):  # ten seconds apart, up and down
        table.wait(10)
        value = 12.0 + 6.0 * (number % 2)
        add_readings(book, [Reading(new_id(), "box_c", value, "°C", table.clock.now(), "wild")])
        written += len(bench.refresh_open(book, table.studio, table.clock, "box_c"))
    assert written == 2  # one in two minutes
    table.say("reading_taken", what="box_c", value=25)  # a person is heard at once
    assert table.plate().step("iodise").changes[-1].why.startswith("box at 25 °C")


def test_a_doubted_sensor_is_not_used(table, book):
    table.open("A1")
    wild = Reading(new_id(), "box_c", 2.0, "°C", table.clock.now(), "thermometer", doubt="jumped")
    add_readings(book, [wild])
    assert bench.refresh_open(book, table.studio, table.clock, "box_c") == []


def test_the_house_says_who_changed_it(table, book):
    table.open("A1")
    table.say("reading_taken", what="box_c", value=14)
    last = events(book, table.run)[-1]
    assert (last.kind, last.device) == ("duration_changed", bench.HOUSE)
    assert set(last.body) == {
        "planned_s",
        "was_s",
        "low_s",
        "high_s",
        "why",
        "made_of",
    }
    assert last.body["made_of"].startswith("The range is ±")
    assert table.plate().step(last.step).made_of == last.body["made_of"]


# --- light -------------------------------------------------------------------------------------


def own_day(moment=NOON):
    studio = made.studio()
    return studio, clear_day(studio, frame_of(studio, None), moment)


def test_development_ends_when_the_dose_is_in():
    studio, day = own_day()
    begun = NOON - timedelta(hours=4)
    lit = light_length(studio, "development", begun, begun, constants={})
    first = round(day.index(begun))
    last = first + lit.length.seconds / 60.0
    whole = day.development_w_m2[first : int(last)].sum() * 60.0
    part = day.development_w_m2[int(last)] * (last - int(last)) * 60.0
    assert whole + part == pytest.approx(development_dose(studio.habits).middle, rel=1e-6)
    assert lit.length.low < lit.length.seconds < lit.length.high
    assert lit.ripe_at == begun + timedelta(seconds=lit.length.seconds)


def test_a_dose_told_by_pictures_ends_the_development_in_the_light_the_bench_counts():
    studio, _ = own_day()
    begun = NOON - timedelta(hours=3)
    now = begun + timedelta(minutes=40)
    stops = [(begun + timedelta(minutes=10), begun + timedelta(minutes=22.5))]
    found = [Found(begun + timedelta(minutes=30), 0.7, 0.7, "read", (), metered=True)]
    light = light_behind(studio, begun, {}, found, stops)
    assert light.dose_at(22.5) == pytest.approx(light.dose_at(10.0))
    for sigma, minutes in ((0.2, 75.0), (0.4, 35.0)):  # still to come, and over already
        dose = light.dose_at(minutes)
        lit = light_length(
            studio, "development", begun, now, stops=stops, constants={}, found=found,
            by_pictures=(dose, sigma),
        )  # fmt: skip
        if minutes > 40.0:
            assert lit.length.seconds == pytest.approx(60.0 * (minutes - 12.5), abs=2.0)
        else:
            assert lit.length.seconds < 60.0 * (40.0 - 12.5)
        assert lit.doubt.sigma_stops == pytest.approx(sigma, abs=0.1)
        assert PICTURES in [part.cause for part in lit.doubt.parts]


def test_half_the_light_from_now_on_doubles_what_is_left():
    studio, _ = own_day()
    begun = NOON - timedelta(hours=4)
    now = begun + timedelta(minutes=30)
    plain = light_length(studio, "development", begun, now, constants={})
    # a sky expected at a half all along, and a reading of the full sky at the begin that fades
    hours = [[(begun + timedelta(hours=h)).isoformat(), 0.0, 0.0] for h in range(-9, 9)]
    dark = light_length(studio, "development", begun, now, constants={"hours": hours})
    assert dark is None
    half = Found(now, 0.5, 0.5, "half", (), metered=True)
    dimmed = light_length(studio, "development", begun, now, constants={}, found=[half])
    assert dimmed.share == pytest.approx(plain.share)  # the light so far stays what it was
    left, longer = (x.length.seconds - 1800.0 for x in (plain, dimmed))
    assert left < longer < 2.0 * left * 1.1


def test_light_so_far_goes_by_the_readings_taken():
    studio, _ = own_day()
    begun = NOON - timedelta(hours=3)
    now = begun + timedelta(minutes=60)
    plain = light_length(studio, "development", begun, now, constants={})
    every = [
        Found(begun + timedelta(minutes=m), 0.5, 0.5, "half", (), metered=True)
        for m in range(0, 60, 2)
    ]
    seen = light_length(studio, "development", begun, now, constants={}, found=every)
    assert seen.share == pytest.approx(0.5 * plain.share, rel=0.03)


def test_a_covered_frame_gets_no_light():
    studio, _ = own_day()
    begun = NOON - timedelta(hours=3)
    now = begun + timedelta(minutes=60)
    stops = [(begun + timedelta(minutes=10), begun + timedelta(minutes=40))]
    plain = light_length(studio, "development", begun, now, constants={})
    covered = light_length(studio, "development", begun, now, stops=stops, constants={})
    assert covered.share == pytest.approx(0.5 * plain.share, rel=0.1)
    still = [(begun + timedelta(minutes=10), None)]
    dark = light_length(studio, "development", begun, now, stops=still, constants={})
    assert dark.share < plain.share / 4


def test_light_that_ends_first_is_told():
    studio, day = own_day()
    begun = day.moment(day.last_index) - timedelta(minutes=30)
    lit = light_length(studio, "development", begun, begun, constants={})
    assert lit.ripe_at is None
    assert lit.length.seconds == pytest.approx(1800.0, abs=61)
    assert "the light ends with" in lit.length.why


def test_at_night_nothing_is_said():
    studio, _ = own_day()
    night = datetime(2026, 6, 21, 23, 30, tzinfo=UTC)
    assert light_length(studio, "development", night, night, constants={}) is None


def test_a_lamp_burns_at_night_and_past_midnight():
    studio = made.lamp_studio()
    night = datetime(2026, 6, 21, 21, 30, tzinfo=UTC)
    lit = light_length(studio, "development", night, night, constants={})
    day = light_length(studio, "development", NOON, NOON, constants={})
    assert lit.length.seconds == pytest.approx(day.length.seconds)
    assert lit.length.why.startswith("lamp")


def test_a_run_may_be_opened_at_night(book):
    night = datetime(2026, 12, 21, 22, 0, tzinfo=UTC)
    state = made.Table(book, made.studio(), start=night).open("A1")
    assert state.step("expose").planned_s == 240.0  # the trade's four minutes
    assert state.step("develop").planned_s == 4200.0  # its seventy


def reading(what, value, unit, at=NOON, step=None):
    return RunReading(what, value, unit, "meter", at, None, step)


def found_by(what, value, unit, at=NOON, step=None, plane="sun"):
    studio = made.studio(subject=Subject(plane=plane))
    return against_clear(studio, studio.frames[0], reading(what, value, unit, at, step))


def test_a_meter_that_reads_the_clear_sky_finds_all_of_it():
    _, day = own_day()
    index = int(day.index(NOON))
    for what, model, unit in (
        ("light_lx", day.lux_subject, "lx"),
        ("sun_w_m2", day.ghi_w_m2, "W/m2"),
    ):
        found = found_by(what, float(model[index]), unit)
        assert (found.exposure, found.development) == pytest.approx((1.0, 1.0))
    at_frame = found_by("light_lx", float(day.lux_frame[index]), "lx", step="develop")
    assert at_frame.development == pytest.approx(1.0)
    ev = math.log2(float(day.lux_subject[index]) / 2.5)  # 2.5 lx at EV 0, ISO 100
    assert found_by("meter_ev", ev, "EV").exposure == pytest.approx(1.0, rel=1e-6)


def test_no_cloud_leaves_the_clear_light():
    found = found_by("cloud_okta", 0.0, "okta")
    assert found.exposure == pytest.approx(1.0, abs=0.02)  # hours called clear have some haze
    assert found.development == pytest.approx(1.0, abs=0.02)


def test_a_whole_sky_under_cloud_leaves_a_quarter_on_level_ground():
    """Kasten and Czeplak 1980; violet loses less than that."""
    studio = made.studio(subject=Subject(plane="horizontal"))
    found = against_clear(studio, studio.frames[0], reading("cloud_okta", 8.0, "okta"))
    assert 0.25 < found.exposure < 0.35


def test_shade_is_lighter_under_broken_cloud_than_under_a_clear_sky():
    in_shade, in_sun = (found_by("cloud_okta", 4.0, "okta", plane=p) for p in ("shade", "sun"))
    assert in_shade.exposure > 1.0 > in_sun.exposure
    assert in_shade.development == in_sun.development  # the frame faces the sun in both


@pytest.mark.parametrize("plane", ["sun", "shade"])
@pytest.mark.parametrize("okta", [4.0, 8.0])
@pytest.mark.parametrize("hour", [6, 12])
def test_bench_and_plan_give_the_same_dose_under_the_same_cloud(okta, hour, plane):
    studio = made.studio(subject=Subject(plane=plane))
    place, frame = resolve_place(studio), studio.frames[0]
    day = clear_day(studio, frame, NOON)
    start = np.datetime64(day.start_utc.replace(tzinfo=None), "s")
    times = start + np.arange(len(day.elevation_deg)) * np.timedelta64(60, "s")
    sky = sky_day(place, times + np.timedelta64(30, "s"), filters_of(studio))
    skies = sky_days(even_cloud(okta, start), sky, 2, 1)
    planned = lit_day(studio, sky, skies, len(times)).day

    moment = datetime(2026, 6, 21, hour, tzinfo=UTC)
    first = round(day.index(moment))
    hour_of = slice(first, first + 60)
    exposure, development = planned.exposure_middle, planned.frames[0].middle
    due = {
        "exposure": exposure[first + 60] - exposure[first],
        "development": development[first + 60] - development[first],
    }
    told = [
        against_clear(
            studio, frame, reading("cloud_okta", okta, "okta", moment + (m + 0.5) * MINUTE)
        )
        for m in range(60)
    ]
    # minute by minute, by what the eye told
    eye = {
        "exposure": day.exposure_w_m2[hour_of] @ [one.exposure for one in told],
        "development": day.development_w_m2[hour_of] @ [one.development for one in told],
    }
    assert {kind: 60.0 * dose for kind, dose in eye.items()} == pytest.approx(due, rel=1e-6)
    # and one look at the sky, fresh, is as good as the plan for an exposure's ten minutes
    for kind, planned_sums in (("exposure", exposure), ("development", development)):
        expected = {"hours": [[moment.isoformat(), *(dose / 3600.0 for dose in due.values())]]}
        sums = light_of(day, kind, expected, told[:1])
        dose = planned_sums[first + 10] - planned_sums[first]
        assert sums[first + 10] - sums[first] == pytest.approx(dose, rel=0.04)


def even_cloud(okta, start):
    """A forecast of even cloud for two days."""
    hours = 60
    nothing = np.full(hours, np.nan)
    columns = ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "sunshine_share")
    columns += ("temperature_c", "relative_humidity_pct", "haze_aod")
    return Weather(
        start_utc=start + (np.arange(hours) - 6) * np.timedelta64(3600, "s"),
        step_s=3600.0,
        kind="forecast",
        source="invented.csv",
        cloud_share=np.full(hours, okta / 8.0),
        **dict.fromkeys(columns, nothing),
    )


def test_a_meter_is_not_compared_at_night():
    assert found_by("light_lx", 1.0, "lx", at=datetime(2026, 6, 21, 3, 0, tzinfo=UTC)) is None


def test_what_the_plan_expected_is_the_starting_share():
    _, day = own_day()
    first = int(day.index(NOON))
    mean = float(day.development_w_m2[first : first + 60].mean())
    hours = [[NOON.isoformat(), 0.0, 0.4 * mean], ["no time", 1, 1], [3]]
    shares = expected_shares(day, day.development_w_m2, hours, 2)
    assert np.allclose(shares[first : first + 60], 0.4)
    assert shares[first - 1] == 1.0


def test_a_plan_that_expects_more_than_a_clear_sky_is_believed():
    """Beside a window, where cloud lights up the sky."""
    _, day = own_day()
    first = int(day.index(NOON))
    mean = float(day.exposure_w_m2[first : first + 60].mean())
    shares = expected_shares(day, day.exposure_w_m2, [[NOON.isoformat(), 1.6 * mean, 0.0]], 1)
    assert np.allclose(shares[first : first + 60], 1.6)


def test_a_reading_fades_back_to_what_was_expected():
    _, day = own_day()
    expected = np.full(len(day.elevation_deg), 0.8)
    shares = shares_now(day, expected, [(NOON, 0.2)])
    first = int(day.index(NOON))
    assert shares[first - 2] == 0.8
    assert shares[first] == pytest.approx(0.2, abs=0.01)
    # hours in a row: Graham and Hollands, Solar Energy 44 (1990) 333-341
    assert shares[first + 60] == pytest.approx(0.8 - 0.6 * 0.54, abs=0.01)
    assert shares[-1] == pytest.approx(0.8, abs=0.002)


def test_a_light_reading_lengthens_what_develops_and_what_will(table):
    state = table.open("A1", "B2")
    table.cautions()
    table.up_to("develop")
    plate = state.plates[0].id
    table.say("step_begun", plate, "develop")
    table.wait(1800)
    before = [p.step("develop").planned_s for p in table.state().plates]
    table.say("reading_taken", plate, "develop", what="light_lx", value=20, unit="klx")
    after = table.state().plates
    for plate_now, was in zip(after, before, strict=True):
        step = plate_now.step("develop")
        assert step.planned_s > was
        assert "light reading 20 000 lx, ripe from " in step.changes[-1].why  # nobody planned
    assert after[0].step("develop").elapsed_s == pytest.approx(1800.0, abs=0.1)


def test_an_exposure_is_calculated_again_as_it_begins(table):
    state = table.open("A1")
    table.cautions()
    table.up_to("expose", each_s=1500.0)  # hours later the sun stands elsewhere
    table.say("step_begun", state.plates[0].id, "expose")
    step = table.plate().step("expose")
    assert step.changes
    own = light_length(table.studio, "exposure", step.begun, step.begun, constants=state.constants)
    assert step.planned_s == pytest.approx(own.length.seconds, rel=0.03)
