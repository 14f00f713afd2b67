"""What a day is told of odds where the plates cannot be read: as a new studio is."""

from dataclasses import replace

import pytest
from tests.bench_studio import studio

from argentry.desk.numbers.own_numbers import _box_factor, _written
from argentry.desk.numbers.plates_seen import Seen
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


def test_what_the_maker_wrote_down_goes_before_what_others_found():
    own = studio()
    assert _written(own) == set()
    habits, box = own.habits, own.boxes[0]
    for what, changed in (
        ("plate_speed", replace(own, habits=replace(habits, plate_speed=3e-4))),
        ("development_dose", replace(own, habits=replace(habits, development_dose_kj_m2=700.0))),
        ("box_factor", replace(own, boxes=(replace(box, box_factor=1.2),))),
        ("box_factor", replace(own, boxes=(replace(box, box_factor_log_sd=0.2),))),
    ):
        assert _written(changed) == {what}


def test_a_box_that_is_known_to_be_slow_is_told_with_its_own_factor():
    own, nothing = studio(), Seen((), (), ())
    (box,) = own.boxes
    slow = replace(own, boxes=(replace(box, box_factor=1.25 * box.box_factor),))
    usual, told = (_box_factor(one, nothing, None) for one in (own, slow))
    ends = ("value", "low", "high", "believed", "believed_low", "believed_high")
    for end in ends:
        assert getattr(told, end) == pytest.approx(1.25 * getattr(usual, end)), end
