"""What a day is told of odds where the plates cannot be read: as a new studio is."""

import pytest

from argentry.desk.numbers.studio_numbers import NOT_READ, day_numbers, starting_odds


def test_a_book_that_cannot_be_read_leaves_the_odds_of_a_new_studio(folder):
    """The day said 50 % (25–75) where every other door says 50 % (22–78)."""
    fresh = day_numbers(folder)[1]()
    (folder / "book.sqlite").write_bytes(b"not a book" * 100)
    numbers, good, (warning,) = day_numbers(folder)
    assert numbers is None
    assert warning.startswith(NOT_READ.partition("{")[0])
    assert good().one == fresh.one == starting_odds(folder).one
    assert (good().one.low, good().one.high) == pytest.approx((0.22, 0.78), abs=0.015)


def test_the_share_of_the_studio_file_counts_before_any_plate(folder):
    text = (folder / "studio.toml").read_text("utf-8")
    text = text.replace("# good_share = 0.5", "good_share = 0.25")
    text = text.replace("good_share_plates = 0", "good_share_plates = 40")
    (folder / "studio.toml").write_text(text, encoding="utf-8")
    assert starting_odds(folder).one.probability < 0.4
