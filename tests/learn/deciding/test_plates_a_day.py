"""How many plates a maker usually makes in a day."""

from tests.learn.plates import making

from argentry.learn.deciding.plates_a_day import plates_a_day


def of(*sessions):
    return [making(n, session=session) for n, session in enumerate(sessions)]


def test_the_median_session_rounded_up():
    assert plates_a_day(of("a")) == 1
    assert plates_a_day(of("a", "b", "b", "b", "c", "c")) == 2
    assert plates_a_day(of("a", "b", "b")) == 2  # one and a half
    assert plates_a_day(of("a", "a", "b", "b", "b", "c", "c", "c", "c")) == 3


def test_without_a_plate_nothing_is_said():
    assert plates_a_day([]) is None
