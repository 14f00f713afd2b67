"""A wish for a short pose: exposures only where the camera time is shorter."""

import re
from dataclasses import replace
from datetime import date, timedelta

from tests.day.test_plan import plan, studio

from argentry.records.studio import Habits

DAY = date(2026, 6, 21)
QUICK = {"effort": 0.5, "simulated_days": 20, "plates": 1}


def asked(minutes):
    return plan(DAY, made=studio(habits=Habits(longest_pose_min=minutes)), **QUICK)


def pose(made):
    (step,) = [step for step in made.steps if step.step == "expose"]
    return step


def test_a_pose_under_a_length_is_planned_where_the_light_is_strong_enough():
    free = asked(None)
    lengths = [(h.exposure_minutes.middle, h.time) for h in free.hours if h.sun_elevation_deg > 5]
    shortest, longest = min(lengths)[0], max(lengths)[0]
    wished = shortest + 0.25 * (longest - shortest)
    made = asked(wished)
    assert made.plates_placed == 1
    assert pose(made).minutes.middle <= wished
    assert pose(made).end - pose(made).start <= timedelta(minutes=wished + 1.0)
    # it waits for that light: the first hours are too long
    assert lengths[0][0] > wished
    assert pose(made).start > free.begin + timedelta(hours=1)


def test_where_none_is_so_short_the_shortest_is_named_and_when():
    made = asked(0.5)
    assert made.plates_placed == 0
    (note,) = [note for note in made.warnings if "is under 0.5 min" in note]
    shortest, hour, minute = re.search(r"shortest is ([\d.]+) min, at (\d+):(\d+)", note).groups()
    best = min(hour.exposure_minutes.middle for hour in asked(None).hours)
    assert abs(float(shortest) - best) < 0.3
    # said is done: with a little more than that a plate is placed, exposed near that time
    again = asked(float(shortest) + 0.1)
    assert again.plates_placed == 1
    told = pose(again).start.replace(hour=int(hour), minute=int(minute))
    assert abs(pose(again).start - told) < timedelta(hours=3)
    assert not any("is under" in warning for warning in again.warnings)


def test_nothing_is_said_of_poses_where_there_is_no_light():
    made = replace(studio(), habits=Habits(longest_pose_min=2.0))
    site = replace(made.site, latitude_deg=69.0, longitude_deg=25.0, time_zone="Europe/Helsinki")
    dark = plan(date(2026, 12, 21), made=replace(made, site=site), **QUICK)
    assert dark.plates_placed == 0
    assert not any("shortest" in note for note in dark.warnings)
