"""What keeps plates from being finished, told by its cause with a remedy that exists."""

import re
from types import SimpleNamespace

import numpy as np
import pytest

from argentry.cli.day import day
from argentry.day.notes import FEWER, MISSED, NO_LIGHT, missed_by_cause
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
    ],
)
def test_a_missed_plate_has_one_cause(plates, sound, frames, served, cause):
    found = missed_by_cause(planned(*plates, sound=sound), frames, np.array([served]))
    assert set(found) == {*MISSED, "light"}
    assert [name for name, share in found.items() if share] == ([cause] if cause else [])


DARK = np.array([False])


def test_a_sitter_who_is_not_taken_in_time_is_a_cause_of_its_own():
    at_a_time = SimpleNamespace(light=SimpleNamespace(window=(10.0, 20.0)))
    late = (FINE[0], NEVER, NEVER, NEVER, NEVER, NEVER)
    for special, cause in (((at_a_time, None), "sitter"), ((None, at_a_time), "light")):
        found = missed_by_cause(planned(late, FINE, sound=(False, True), special=special), 2, DARK)
        assert [name for name, share in found.items() if share] == [cause]


def test_every_remedy_is_an_option_of_the_command():
    known = {option for param in day.params for option in param.opts}
    named = [re.findall(r"--[a-z-]+", words) for words in (*MISSED.values(), *NO_LIGHT.values())]
    assert all(named)
    assert {option for one in named for option in one} <= known


def test_one_plate_is_not_told_to_be_fewer():
    for words in (*MISSED.values(), *NO_LIGHT.values()):
        alone = FEWER.sub("", words)
        assert "fewer" not in alone
        assert re.search(r": [a-z][^:]*[a-z)]\.$", alone), alone
    assert FEWER.sub("", MISSED["hours"]).endswith(
        "is done: begin earlier (--from) or stay longer (--until)."
    )
