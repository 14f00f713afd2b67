"""A plate that is missed on a simulated day has one cause; want of light is told besides."""

from types import SimpleNamespace

import numpy as np
import pytest

from argentry.day.missed import missed_by_cause, too_dark
from argentry.day.notes import MISSED
from argentry.plan.spread import Spread
from argentry.plan.tasks import Task, blocks_of


def hands(key, minutes, resource="", within=None):
    return Task(key, "fixed", minutes, 0.2, True, resource, within)


BLOCKS = blocks_of(
    (
        hands("iodise", 10.0, "box"),
        Task("expose", "exposure", 0.0, 0.2, True, "camera", 60.0),
        hands("out", 2.0, "frame", 30.0),
        Task("develop", "development", 0.0, 0.2, False, "frame", 10.0),
        hands("fix", 8.0, "", 15.0),
        hands("seal", 20.0),
    )
)
FINE = ((0, 10), (10, 20), (20, 22), (22, 82), (82, 90), (90, 110))
LATER = ((20, 30), (30, 40), (82, 84), (84, 144), (144, 152), (152, 172))  # 42 min to the frame
NEVER = (np.nan, np.nan)
LAST = 500.0


def planned(*plates, sound=(True, True), special=()):
    times = np.array([plates], dtype=float)  # one day
    days = Spread(
        times[..., 0], times[..., 1], np.array([sound]), np.ones((1, 2)), late_days=0, ripe_days=0
    )
    return SimpleNamespace(days=days, blocks=BLOCKS, special_of=dict(enumerate(special)).get)


@pytest.mark.parametrize(
    ("plates", "sound", "frames", "served", "cause"),
    [
        ((FINE, FINE), (True, True), 2, False, None),
        # the only frame is taken from 20 to 82, the second plate has to lie in it by 70
        ((FINE, LATER), (True, False), 1, True, "frames"),
        # with another frame it waited for hands
        ((FINE, LATER), (True, False), 2, True, "hands"),
        ((FINE, (*FINE[:3], (22, np.nan), NEVER, NEVER)), (True, False), 2, True, "light"),
        # a plate that is not begun wants for light only where that does not serve the plan
        ((FINE, (NEVER,) * 6), (True, False), 2, False, "light"),
        ((FINE, (NEVER,) * 6), (True, False), 2, True, "hours"),
        ((FINE, (*FINE[:4], (82, 90), NEVER)), (True, False), 2, True, "hours"),
        # laid aside when its time had passed: as one that went in late
        ((FINE, (*LATER[:2], *[NEVER] * 4)), (True, False), 1, True, "frames"),
        ((FINE, (*LATER[:2], *[NEVER] * 4)), (True, False), 2, True, "hands"),
        ((FINE, ((450, 460), (460, 480), *[NEVER] * 4)), (True, False), 2, True, "hours"),
    ],
)
def test_a_missed_plate_has_one_cause(plates, sound, frames, served, cause):
    day = planned(*plates, sound=sound)
    found = missed_by_cause(day, frames, np.array([served]), LAST)
    assert set(found) == {*MISSED}
    assert [name for name, share in found.items() if share] == ([cause] if cause else [])
    assert too_dark(day, np.array([served])).tolist() == [cause == "light"]


DARK = np.array([False])


def test_a_sitter_who_is_not_taken_in_time_is_a_cause_of_its_own():
    at_a_time = SimpleNamespace(light=SimpleNamespace(window=(10.0, 20.0)))
    late = (FINE[0], NEVER, NEVER, NEVER, NEVER, NEVER)
    for special, cause in (((at_a_time, None), "sitter"), ((None, at_a_time), "light")):
        day = planned(late, FINE, sound=(False, True), special=special)
        found = missed_by_cause(day, 2, DARK, LAST)
        assert [name for name, share in found.items() if share] == [cause]
        # a day that is dark at a sitter's hour counts against the odds of enough light all the same
        assert too_dark(day, DARK).all()
        assert not too_dark(day, ~DARK).any()
