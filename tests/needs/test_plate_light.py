"""The light a plate had, however its notebook tells when it lay under the filter."""

from datetime import date

import pytest
from tests import bench_studio

from argentry.exchange.plates.csv import plate_lines
from argentry.exchange.plates.table import read_plate_table
from argentry.learn.stages.derived_conditions import measure
from argentry.learn.stages.table import own_conditions
from argentry.needs.plate_light import dose_needed, ripenings, shots
from argentry.records.plate import Making, Plate
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


def test_a_plate_twice_as_fast_needs_half_the_light():
    studio = bench_studio.studio()
    (shot,) = shots(studio, [plate(**EXPOSED)])
    slow, fast = (dose_needed(studio, shot, 30.0, speed) for speed in (0.001, 0.002))
    assert slow == pytest.approx(2.0 * fast, rel=1e-12)


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
