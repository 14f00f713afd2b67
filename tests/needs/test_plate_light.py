"""The light a plate had, however its notebook tells when it lay under the filter."""

from dataclasses import replace
from datetime import date, datetime
from math import hypot, log2

import numpy as np
import pytest
from tests import bench_studio

from argentry import trade
from argentry.exchange.plates.csv import plate_lines
from argentry.exchange.plates.table import read_plate_table
from argentry.learn.stages.derived_conditions import measure
from argentry.learn.stages.table import own_conditions
from argentry.needs.camera import Camera
from argentry.needs.development_time import development_dose
from argentry.needs.expose import expose
from argentry.needs.numbers import dose_sigma_stops
from argentry.needs.plate_light import (
    development_range,
    dose_needed,
    exposure_range,
    ripenings,
    shots,
)
from argentry.physics.lights.light import cloud_exponent
from argentry.records.instruments import LAMP_FRAME, Lamp
from argentry.records.needs import StudioNow
from argentry.records.plate import Making, Plate
from argentry.sky.place import resolve_place
from argentry.trade.conditions import conditions

START, END = "2026-06-21T10:00:00+02:00", "2026-06-21T11:40:00+02:00"
LENGTH = {"development_minutes": 100.0}
EXPOSED = {"exposure_start": "2026-06-21T09:50:00+02:00", "exposure_seconds": 240.0}


def plate(**conditions):
    return Making("m", "p", None, "s", 1, date(2026, 6, 21), conditions=conditions)


@pytest.fixture(scope="module")
def told():
    (known,) = ripenings(
        bench_studio.studio(), [plate(development_start=START, development_end=END)]
    )
    return known


@pytest.mark.parametrize(
    "written",
    [
        {"development_start": START, **LENGTH},
        {"exposure_to_development_minutes": 6.0, **EXPOSED, **LENGTH},
    ],
)
def test_a_length_in_minutes_teaches_the_dose_like_start_and_end(told, written):
    (found,) = ripenings(bench_studio.studio(), [plate(**written)])
    assert found.minutes == told.minutes == 100.0
    assert found.dose_kj_m2 == pytest.approx(told.dose_kj_m2, rel=0.02)  # what faded in 6 min


def test_when_it_was_put_out_is_never_guessed():
    for written in (LENGTH, {**EXPOSED, **LENGTH}, {"development_start": START}):
        assert ripenings(bench_studio.studio(), [plate(**written)]) == ()


def test_a_plate_has_the_light_of_the_frame_that_it_names(told):
    """Every plate counted through the first frame's filter in the sun, whatever it names."""
    own = bench_studio.studio()
    first = own.frames[0]
    half = replace(first, name="Half", transmission=first.transmission / 2.0)
    lit = replace(first, name="Lamp", lamp=Lamp(power_w=20.0, distance_m=0.5))
    studio, lamps = replace(own, frames=(first, half, lit)), replace(own, frames=(lit, first))
    rows = {"development_start": START, **LENGTH}

    def dose(of, **frame):
        return [one.dose_kj_m2 for one in ripenings(of, [plate(**rows, **frame)])]

    whole = pytest.approx(told.dose_kj_m2, rel=1e-6)
    assert dose(studio) == dose(studio, frame="2 left") == dose(studio, frame=first.name) == [whole]
    assert dose(studio, frame="Half") == [pytest.approx(told.dose_kj_m2 / 2.0, rel=1e-6)]
    assert dose(studio, frame="Lamp") == dose(lamps) == []
    assert dose(studio, frame=LAMP_FRAME) == [], "a lamp of one day stands in no studio file"
    assert dose(lamps, frame=first.name) == [whole]


def test_a_plate_twice_as_fast_needs_half_the_light():
    studio = bench_studio.studio()
    (shot,) = shots(studio, [plate(**EXPOSED)])
    slow, fast = (dose_needed(studio, shot, 30.0, speed) for speed in (0.001, 0.002))
    assert slow == pytest.approx(2.0 * fast, rel=1e-12)


def test_the_light_a_development_needs_is_what_develop_says_with_the_doubt_of_the_light(told):
    studio = bench_studio.studio()
    said = development_dose(studio.habits)
    sure = development_range(studio, replace(told, light_sd=0.0))
    assert (sure.low, sure.middle, sure.high) == pytest.approx((said.low, said.middle, said.high))
    found = development_range(studio, replace(told, light_sd=0.5))
    width = hypot(dose_sigma_stops(studio.habits), 0.5)
    assert log2(found.high / found.middle) == pytest.approx(1.2816 * width, rel=1e-3)
    assert found.middle == pytest.approx(said.middle)


def test_what_ends_strayed_widens_the_light_needed(told):
    studio = bench_studio.studio()
    strayed = replace(studio.habits, scatter=(("development", 1.5),))
    wide, usual = (
        development_range(replace(studio, habits=habits), told)
        for habits in (strayed, studio.habits)
    )
    assert log2(wide.high / wide.low) == pytest.approx(1.5 * log2(usual.high / usual.low))


def test_the_light_an_exposure_needs_is_that_of_its_plate_not_of_the_middle_alone():
    speed = replace(
        bench_studio.studio().habits,
        plate_speed=0.001, plate_speed_sigma_stops=0.5, plate_noise_stops=0.3,
    )  # fmt: skip
    studio = replace(bench_studio.studio(), habits=speed)
    (shot,) = shots(studio, [plate(**EXPOSED)])
    sure, known = (exposure_range(studio, replace(shot, light_sd=sd), 30.0) for sd in (0.0, 0.4))
    assert sure.middle == known.middle == pytest.approx(dose_needed(studio, shot, 30.0, 0.001))
    assert log2(sure.high / sure.middle) >= 1.2816 * 0.5 * 0.999
    apart = [log2(one.high / one.low) ** 2 for one in (sure, known)]
    assert apart[1] - apart[0] == pytest.approx((2.0 * 1.2816 * 0.4) ** 2, rel=1e-3)


def test_a_coat_that_no_camera_takes_needs_no_light():
    studio = bench_studio.studio()
    (shot,) = shots(studio, [plate(**EXPOSED, f_number=1000.0)])
    assert exposure_range(studio, shot, 30.0) is None


def test_a_length_in_minutes_comes_back_out_of_a_table(tmp_path):
    made = plate(**LENGTH)
    path = tmp_path / "plates.csv"
    path.write_text("".join(plate_lines([Plate("p", "P-1", "quarter")], [made])))
    read = read_plate_table(path)
    assert (read.problems, read.own) == ((), ())
    assert read.rows[0].making.conditions == LENGTH


def test_a_length_in_minutes_is_the_condition_of_the_house_and_none_of_its_own():
    house = next(one for one in conditions() if one.key == "development_minutes")
    both = plate(development_start=START, development_end=END)
    assert measure(house, LENGTH) == measure(house, both.conditions)
    many = [plate(development_minutes=60.0 + k) for k in range(9)]
    assert own_conditions(many, conditions()) == ()


def test_a_plate_under_full_cloud_had_the_light_that_expose_counts_on():
    """Before, the plate was given the mean of such hours and the range lay about it, too."""
    studio = bench_studio.studio()
    covered = plate(cloud_okta=8, subject_plane="overcast", **EXPOSED)
    (shot,) = shots(studio, [covered])
    moment = datetime.fromisoformat(EXPOSED["exposure_start"])
    camera = Camera(plane="overcast")
    asked = expose(resolve_place(studio), moment, camera, StudioNow(studio))
    counted = asked.actinic_w_m2 * EXPOSED["exposure_seconds"]
    assert shot.dose_j_m2 == pytest.approx(counted, rel=0.04)  # in 4 min the sun rises on
    # the doubt of it, too, is that of the violet
    violet = float(cloud_exponent(np.float64(shot.elevation_deg)))
    cloud = violet * trade.value("light", "overcast_sigma")
    assert cloud < shot.light_sd < hypot(cloud, 0.45)
