"""What keeps plates from being finished, told by its cause with a remedy that exists."""

import re

from argentry.cli.planning.day import day
from argentry.day.notes import FEWER, MISSED, NO_LIGHT, REMEDIES


def test_every_cause_has_a_remedy_and_every_remedy_is_an_option_of_the_command():
    known = {option for param in day.params for option in param.opts}
    every = [*REMEDIES.values(), *NO_LIGHT.values()]
    named = [re.findall(r"--[a-z-]+", " ".join(remedies)) for remedies in every]
    assert all(named)
    assert {option for one in named for option in one} <= known
    assert {*REMEDIES, "light"} == {*MISSED}


def test_a_day_of_one_plate_has_another_remedy_than_fewer_plates():
    assert all(set(one) - {FEWER} for one in (*REMEDIES.values(), *NO_LIGHT.values()))
