"""Two plates that touch are told apart; what runs across one plate does not part it."""

import numpy as np
from tests.judge.outline.test_plate_edges import off, sheet

from argentry.judge.outline.plate_edges import plate_corners, plates_in

SIZE = np.array([70.0, 92.0])
LEFT = np.array([75.0, 80.0])
FAR = {  # from the middle of one plate to that of the other
    "side by side": [71.0, 4.0],
    "corner to corner": [68.0, 90.0],
}


def two(far, wide=SIZE):
    """Draw two plates, the second so far from the first, with marks of its own on each."""
    other = LEFT + far
    linear, corners = sheet(
        (LEFT, SIZE, 0.0, 0.5), (other, wide, 0.05, 0.3),
        (LEFT - 12, SIZE / 4, 0.4, 0.2), (other + 9, SIZE / 5, 0.0, 0.6), size=(240, 240),
    )  # fmt: skip
    return linear, corners[:2]


def test_two_plates_that_touch_are_told_apart_and_a_place_chooses():
    for name, far in FAR.items():
        linear, corners = two(far)
        found = plates_in(linear)
        assert len(found) == 2, name
        assert max(min(off(one, true) for true in corners) for one in found) < 3.0, name
    read, other = plates_in(linear, at=tuple(LEFT + far))
    assert (off(read, corners[1]) < 3.0, off(other, corners[0]) < 3.0) == (True, True)


def test_a_smaller_plate_beside_a_larger_one_is_another_plate():
    linear, corners = two([61.0, 0.0], np.array([52.0, 64.0]))
    found = plates_in(linear, dark=True)
    assert [off(one, true) < 5.0 for one, true in zip(found, corners, strict=True)] == [True, True]


def test_a_line_across_a_plate_of_usual_shape_does_not_part_it():
    middle, size = np.array([110.0, 85.0]), np.array([140.0, 106.0])
    half, strip = np.array([70.0, 106.0]), np.array([30.0, 106.0])
    inner = size * 0.7
    for name, part, wide in (
        ("a dark half", (145, 85), half), ("a horizon", (110, 65), (140, 66)),
        ("a strip", (55, 85), strip), ("a mat", (110, 85), inner),
    ):  # fmt: skip
        plate, other = (middle, size, 0.0, 0.5), (np.array(part), np.array(wide), 0.0, 0.25)
        linear, (corners, _) = sheet(plate, other, size=(170, 220))
        (found,) = plates_in(linear, dark=True)
        assert off(found, corners) < 3.0, name


def test_bands_of_a_scale_are_not_parted():
    linear, (one, other) = two([70.0, 0.0])
    assert off(plate_corners(linear), np.array([one[0], other[1], other[2], one[3]])) < 3.0
