"""What keeps plates from being finished, told by its cause with a remedy that exists."""

import re

from argentry.cli.day import day
from argentry.day.notes import FEWER, MISSED, NO_LIGHT


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
