"""What the plates of a book say of the studio's own numbers."""

from dataclasses import replace
from datetime import date
from types import SimpleNamespace

import pytest
from tests import bench_studio

from argentry.desk.numbers.plates_seen import FARTHEST, Seen, _timed_coats, graded_exposures
from argentry.records.plate import Making

EXPOSED = {"exposure_start": "2026-06-21T09:50:00+02:00", "exposure_seconds": 240.0}
ONE = Making(
    "m", "p", None, "s", 1, date(2026, 6, 21), conditions=EXPOSED, grade="good", verdict="right"
)


def exposures(*makings, start_iso=0.001):
    return graded_exposures(bench_studio.studio(), makings, start_iso)


def test_a_day_is_told_by_what_came_before_it():
    before, then = (SimpleNamespace(day=date(2026, 6, day)) for day in (20, 21))
    undated = SimpleNamespace(day=None)  # of a notebook: an exposure that could be any day's
    seen = Seen((undated, before, then), (before, then), (before, then))
    assert seen.until(then.day) == Seen((undated, before), (before,), (before,))


def test_strips_are_told_by_their_own_light_and_those_too_far_from_any_are_slips_of_the_pen():
    ((stops,), verdicts) = (exposures(ONE)[0].stops, exposures(ONE)[0].verdicts)
    assert verdicts == ("right",)
    assert stops != pytest.approx(0.0, abs=0.05), "else both signs would do"
    side = 1.0 if stops > 0.0 else -1.0
    inside, outside = -side * (FARTHEST + abs(stops) / 2.0), side * FARTHEST
    strips = ((0.0, "right"), (inside, "under"), (outside, "over"))
    (found,) = exposures(replace(ONE, strips=strips))
    assert found.verdicts == ("right", "under")
    assert found.stops == pytest.approx((stops, stops + inside))
    assert exposures(replace(ONE, strips=((outside, "over"),))) == ()


def test_a_plate_whose_polish_or_coat_was_at_fault_says_nothing_of_the_exposure():
    for stage in ("polish", "coat"):
        assert exposures(replace(ONE, stages={stage: "fault"})) == ()
    assert len(exposures(replace(ONE, stages={"exposure": "fault"}))) == 1
    assert exposures(replace(ONE, verdict=None)) == ()


def test_a_plate_farther_off_than_any_exposure_is_left_out():
    assert exposures(ONE, start_iso=0.001 * 2.0 ** (2.0 * FARTHEST)) == ()


@pytest.mark.parametrize(("changed", "read"), [({}, 1), ({"fuming_seconds": 0.0}, 0),
                         ({"coat_nm": 1.0}, 0), ({"box_c": 90.0}, 0)])  # fmt: skip
def test_a_coat_without_its_seconds_teaches_nothing_of_the_box(changed, read):
    known = {"fuming_seconds": 60.0, "coat_nm": 30.0, "box_c": 22.0} | changed
    coats = _timed_coats(bench_studio.studio(), [replace(ONE, conditions=known)])
    assert len(coats) == read


@pytest.mark.parametrize(
    ("own_c", "known", "held_c"),
    [
        (24.0, {"box_c": 22.0, "room_c": 18.0}, 22.0), (24.0, {"room_c": 18.0}, 24.0),
        (24.0, {}, 24.0), (None, {"room_c": 18.0}, 18.0), (None, {}, None),
    ],
)  # fmt: skip
def test_a_box_is_as_read_else_as_it_is_held_else_as_its_room(own_c, known, held_c):
    """The plan went by the room; a notebook of the room's degrees taught nothing of the box."""
    studio = bench_studio.studio()
    studio = replace(studio, boxes=(replace(studio.boxes[0], temperature_c=own_c),))
    made = replace(ONE, conditions={"fuming_seconds": 60.0, "coat_nm": 30.0} | known)
    assert [one.box_c for one in _timed_coats(studio, [made])] == [held_c] * (held_c is not None)
