"""The plain rule for a day's plates, against days counted by hand."""

import numpy as np
import pytest

from argentry.day.season.pace import Lights, Pace, after_breaks, pace_of, plates_of_days
from argentry.physics.picture.dose import LightSums, cumulative_j_m2
from argentry.physics.picture.reciprocity import Reciprocity
from argentry.plan.tasks import Task, blocks_of

STEPS = 60  # of ten minutes


def pace(**changes):
    values = {
        "before": 20.0, "between": 5.0, "out": 15.0, "rest": 20.0, "keeps": 15.0,
        "first": 0.0, "last": 600.0, "breaks": (), "workers": 1, "cameras": 1,
    }  # fmt: skip
    return Pace(**(values | changes))


def lights(*, ripe_after=60.0, pose=5.0, frames=3, dark_from=600.0, days=2):
    """Steady light: a pose of so many minutes, ripe so many minutes after it is laid out."""
    shining = (np.arange(STEPS) * 10.0 < dark_from) * 1.0
    sums = LightSums.of(np.tile(cumulative_j_m2(shining, 600.0), (days, 1)))
    dose = np.full(days, 60.0 * ripe_after)
    longest = np.full(days, 60.0)
    law = Reciprocity(1.0, 180.0)
    return Lights(sums, 60.0 * pose, law, longest, ((sums, dose, frames),), 10.0)


def openings(days=2, until=600.0):
    when = np.where(np.arange(STEPS + 1) * 10.0 < until, np.arange(STEPS + 1) * 10.0, np.inf)
    return np.tile(when, (days, 1))


def count(light=None, own=None, may=None):
    found = plates_of_days(light or lights(), own or pace(), openings() if may is None else may)
    assert len(set(found.tolist())) == 1, "the same light, the same plates"
    return int(found[0])


def test_hands_alone_bound_the_day():
    """65 min of hands a plate (20 + 5 + 5 + 15 + 20): nine fit 600 min, were nothing to ripen."""
    assert count(lights(ripe_after=1.0)) == 9


def test_frames_bound_the_day():
    """One frame, ripe after 180 min: laid out at 30, 210, 390 and ripe by 570; out, rest: 605."""
    assert count(lights(ripe_after=180.0, frames=1)) == 2
    assert count(lights(ripe_after=180.0, frames=1), pace(rest=10.0)) == 3
    assert count(lights(ripe_after=180.0, frames=3)) >= 5


def test_dusk_ends_the_day():
    assert count(lights(dark_from=100.0)) == 1  # laid out at 30 and 60; ripe at 90 and never
    assert count(lights(dark_from=125.0)) == 2
    assert count(lights(dark_from=80.0)) == 0


def test_what_may_wait_must_still_fit_in_the_evening():
    assert count(lights(ripe_after=500.0), pace(rest=0.0)) >= 1
    assert count(lights(ripe_after=500.0), pace(rest=60.0)) == 0


def test_no_plate_ripens_in_a_break_and_no_work_runs_into_it():
    start = after_breaks(
        np.array([280.0, 295.0, 310.0, 360.0]), 10.0, pace(breaks=((300.0, 360.0),))
    )
    assert start.tolist() == [280.0, 360.0, 360.0, 360.0]
    one = pace(breaks=((80.0, 140.0),), last=200.0, rest=10.0)
    # ripe at 90 it would lie 50 minutes over its time; laid out later it is ripe as hands are back
    assert count(lights(frames=1), one) == 1
    assert count(lights(frames=1), pace(breaks=((80.0, 140.0),), last=160.0, rest=10.0)) == 0


def test_a_second_pair_of_hands_with_a_second_camera_does_more():
    one = count(lights(ripe_after=1.0, frames=6))
    two = count(lights(ripe_after=1.0, frames=6), pace(workers=2, cameras=2))
    assert two == 12 > one


def test_hands_are_kept_free_for_a_ripe_plate():
    """Laid out at 30, ripe at 50, out by 65; the next would be on its way to the frame until 60."""
    tight = {"keeps": 0.0, "rest": 0.0, "last": 200.0}
    assert count(lights(ripe_after=20.0), pace(**tight)) == 3  # begun at 0, 65 and 130
    assert count(lights(ripe_after=20.0), pace(**(tight | {"keeps": 15.0}))) == 4


def test_one_camera_takes_one_pose_at_a_time():
    """Poses of 55 min from 20 to 75, 75 to 130, and then too late for a day of 200."""
    two = pace(workers=2, cameras=1, last=200.0, rest=0.0)
    assert count(lights(pose=55.0, ripe_after=1.0), two) == 2
    more = pace(workers=2, cameras=2, last=200.0, rest=0.0)
    assert count(lights(pose=55.0, ripe_after=1.0), more) == 4


def test_exposures_wait_for_their_light():
    late = openings()
    late[:, :41] = 400.0  # nothing is begun before minute 400
    # laid out at 410, 440, 470; from there 35 min of hands each: 575, with a fourth it were 640
    assert count(may=late) == 3
    assert count(may=np.full((2, STEPS + 1), np.inf)) == 0


def test_days_do_not_touch_each_other():
    both = lights(days=2)
    dark = LightSums.of(both.exposure.total * np.array([[1.0], [0.0]]))
    mixed = Lights(dark, both.dose, both.law, both.longest, both.ripe, 10.0)
    found = plates_of_days(mixed, pace(), openings())
    assert found.tolist() == [count(), 0]


def test_a_pace_is_read_from_the_blocks():
    def task(key, minutes, *, law="", attended=True, resource="", within=None):
        return Task(key, law, minutes, 0.1, attended, resource, within)

    blocks = blocks_of(
        (
            task("polish", 30.0),
            task("coat", 5.0, resource="box", within=1.0),
            task("expose", 5.0, law="exposure", resource="camera", within=180.0),
            task("frame", 3.0, resource="frame", within=110.0),
            task("develop", 60.0, law="development", attended=False, resource="frame", within=10.0),
            task("fix", 10.0, within=15.0),
            task("gild", 6.0, within=60.0, resource="fire"),
            task("seal", 40.0),
        )
    )
    made = pace_of(blocks, first=20.0, last=660.0, breaks=(), workers=1, cameras=1)
    assert (made.before, made.between, made.out, made.rest) == (35.0, 3.0, 16.0, 40.0)
    assert made.keeps == 15.0


def test_light_is_asked_the_same_by_search_and_by_difference():
    rng = np.random.default_rng(3)
    sums = LightSums.of(cumulative_j_m2(rng.random((40, STEPS)), 600.0))
    light = Lights(
        sums, 2000.0, Reciprocity(1.0, 180.0), np.full(40, 70.0),
        ((sums, np.full(40, 9000.0), 1),), 10.0,
    )  # fmt: skip
    rows = np.repeat(np.arange(40), 7)
    start = np.tile(np.array([0.0, 33.0, 150.0, 299.5, 480.0, 571.0, 600.0]), 40)
    assert np.array_equal(
        np.isfinite(light.exposed(rows, start)),
        light.exposed_within(rows, start, light.longest[rows]),
    )
    ripe = light.ripened(0, rows, start)
    assert np.array_equal(ripe <= 500.0, light.ripe_by(0, rows, start, 500.0))
    laid = light.laid_for(0, np.arange(40), 590.0)
    assert light.ripened(0, np.arange(40), laid) == pytest.approx(np.full(40, 590.0))
