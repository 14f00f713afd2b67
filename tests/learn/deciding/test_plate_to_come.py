"""What of this plate's settings the next one will have."""

from dataclasses import replace

import numpy as np
import pytest
from tests.learn.plates import good

from argentry.learn.deciding.plate_to_come import lasting, like_to_come


def plates(column, values):
    return [good(n, conditions={column: value}) for n, value in enumerate(values)]


def test_how_far_a_number_lasts_is_its_correlation_on_one_plate_and_the_next():
    """Of a first-order autoregression it is the coefficient.

    G. E. P. Box and G. M. Jenkins, Time Series Analysis, 1970, section 3.2 (recalled).
    """
    rng = np.random.default_rng(2)
    for wanted in (0.0, 0.6, 0.95):
        x = [0.0]
        for _ in range(3000):
            x.append(wanted * x[-1] + rng.normal())
        assert lasting(plates("room_c", x), "room_c") == pytest.approx(wanted, abs=0.06)


def test_few_plates_say_that_little_lasts():
    hot = [18.0, 18.0, 18.0, 26.0, 26.0, 26.0]
    assert 0.0 < lasting(plates("room_c", hot), "room_c") < 0.4
    for none in ([], [20.0], [20.0, 20.0, 20.0]):
        assert lasting(plates("room_c", none), "room_c") == 0.0


def test_a_bottle_lasts_and_a_plane_of_light_drawn_by_lot_does_not():
    bottles = ["one"] * 40 + ["two"] * 40
    assert lasting(plates("bottle", bottles), "bottle") > 0.7
    rng = np.random.default_rng(5)
    by_lot = [str(rng.choice(["sun", "shade"])) for _ in range(80)]
    assert lasting(plates("subject_plane", by_lot), "subject_plane") < 0.3
    assert lasting(plates("bottle", ["one"] * 9), "bottle") == 0.0, "there was no other"


def test_what_lasts_is_as_on_this_plate_and_the_rest_as_on_others():
    rng = np.random.default_rng(7)
    season = 20.0 + 5.0 * np.sin(np.arange(80) / 12.0)
    made = [
        replace(one, conditions={**one.conditions, "buff_minutes": float(rng.normal(20.0, 3.0)),
                                 "bottle": "one" if n < 40 else "two"})
        for n, one in enumerate(plates("room_c", season))
    ]  # fmt: skip
    pairs = like_to_come(made, {"room_c": 29.0, "buff_minutes": 5.0, "bottle": "two"})
    for before, then in pairs:
        assert abs(then["room_c"] - 29.0) < 0.3 * abs(before["room_c"] - 29.0)
        assert abs(then["buff_minutes"] - before["buff_minutes"]) < 6.0
        assert then["bottle"] == "two"
    assert {before["bottle"] for before, _ in pairs} == {"one", "two"}
    assert like_to_come([], {"room_c": 29.0}) == []


def test_how_far_it_lasts_by_hand():
    """Three pairs of plates, taken as three of thirteen."""
    assert lasting(plates("bottle", ["a", "a", "b", "b"]), "bottle") == pytest.approx(1.0 / 13.0)
    assert lasting(plates("room_c", [1.0, 2.0, 3.0, 4.0]), "room_c") == pytest.approx(0.75 / 13.0)
    mixed = plates("bottle", ["a", "a", 1.0, 1.0, "b"])  # most of them are words
    assert lasting(mixed, "bottle") == pytest.approx((0.5 - 5.0 / 9.0) * 0.0)
    half = plates("bottle", ["a", "a", 1.0, 3.0, 3.0, 1.0])
    assert lasting(half, "bottle") == pytest.approx(0.0)
    numbers = plates("bottle", ["a", "a", "a", 1.0, 1.0, 3.0, 3.0])
    assert lasting(numbers, "bottle") == pytest.approx(0.25 * 3.0 / 13.0)


def test_eight_plates_stand_evenly_for_all():
    made = plates("room_c", [float(n) for n in range(22)])
    stood = [before["room_c"] for before, _ in like_to_come(made, {"bottle": "one"})]
    assert stood == [0.0, 3.0, 6.0, 9.0, 12.0, 15.0, 18.0, 21.0]
    assert len(like_to_come(made[:3], {})) == 3
    # a word in place of a number is taken where the column lasts
    lasts = plates("bottle", ["a"] * 30 + ["b"] * 30)
    lasts[-1] = replace(lasts[-1], conditions={"bottle": 3.0})
    assert {then["bottle"] for _, then in like_to_come(lasts, {"bottle": "c"})} == {"c"}
    assert like_to_come(made[:2], {"room_c": "warm"})[0][1]["room_c"] == 0.0, "numbers do not"
