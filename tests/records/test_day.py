"""Days as every sheet and sentence names them."""

from datetime import date

from argentry.records.day import day_in_words, weekday_and_date


def test_a_day_is_told_as_people_write_it():
    assert day_in_words(date(2026, 5, 2)) == "2 May 2026"
    assert day_in_words(date(2026, 5, 12), year=False) == "12 May"


def test_a_day_is_told_with_its_weekday():
    assert weekday_and_date(date(2026, 6, 1)) == "Monday 1 June 2026"
    assert weekday_and_date(date(2026, 11, 30), year=False) == "Monday 30 November"
