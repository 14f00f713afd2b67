"""Where a plate lies, however it is turned, and what else in the picture looks like one."""

import numpy as np
import pytest
from benchmarks.seeing.scene import scene
from scipy import ndimage

from argentry.judge.outline.plate_edges import plate_corners, plates_in
from argentry.judge.outline.straight import frame_of, sampled, through
from argentry.physics.coat import colour

BOX = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]])


def sheet(*plates, size=(240, 320), ground=0.03, wart=None):
    """Draw plates, each a middle, a size, a turn and a light; return them and their corners."""
    y, x = np.mgrid[0 : size[0], 0 : size[1]].astype(float)
    light, corners = np.full(size, ground), []
    if wart is not None:
        light[np.hypot(x - wart[0], y - wart[1]) < wart[2]] = 0.5
    for middle, wide, turn, level in plates:
        spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        own = (np.stack([x, y], axis=-1) - middle) @ spin.T / wide
        light[(np.abs(own) <= 0.5).all(axis=-1)] = level
        corners.append(BOX * wide @ spin + middle)
    soft = ndimage.gaussian_filter(light, 0.7)
    soft = soft * np.exp(np.random.default_rng(3).normal(0, 0.02, size))
    return np.repeat(soft[..., None], 3, axis=2), corners


def off(found, true):
    """Return how far corners lie from the true ones, with whichever of them one begins. [px]."""
    return min(np.hypot(*(np.roll(found, k, axis=0) - true).T).max() for k in range(4))


def test_a_plate_is_found_however_it_is_turned_and_whatever_clings_to_it():
    for degrees in (0, 30, 45, 75):
        plate = (np.array([110.0, 90.0]), np.array([105.0, 80.0]), np.radians(degrees), 0.5)
        linear, (corners,) = sheet(plate, size=(180, 220), wart=(167.0, 84.0, 11.0))
        found = plate_corners(linear)
        assert found is not None, degrees
        assert off(found, corners) < 2.0, degrees
        level = (found[1] - found[0])[0] / np.hypot(*(found[1] - found[0]))
        assert level > 0.7, degrees  # the first side is the one nearest to level


def test_fingers_over_more_than_half_a_side_do_not_move_it():
    truth, _ = scene(8901, by_hand=True)
    assert off(plate_corners(colour.from_srgb_bytes(truth.picture)), truth.corners) < 2.0


def test_a_turned_picture_is_not_taken_for_the_plate_that_lies_in_it():
    plate = (np.array([150.0, 110.0]), np.array([150.0, 110.0]), 0.1, 0.7)
    inner, (corners,) = sheet(plate, ground=0.2)
    for degrees in (12, 45):
        turn = np.radians(degrees)
        spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        rim = (BOX * np.array([319.0, 239.0])) @ spin
        wide, high = (int(one) + 1 for one in np.ptp(rim, axis=0))
        rim = rim - rim.min(axis=0)
        back = np.linalg.inv(frame_of(rim, 240, 320))
        y, x = np.mgrid[0.0:high, 0.0:wide]
        at = np.stack(through(back, x, y))
        within = (at[0] >= 0) & (at[0] <= 319) & (at[1] >= 0) & (at[1] <= 239)
        turned = np.where(within[..., None], sampled(inner, back, high, wide), 0.0)
        (found,) = plates_in(turned)
        true = np.stack(through(np.linalg.inv(back), *corners.T), axis=1)
        assert off(found, true) < 3.0, degrees


def test_of_two_plates_the_larger_is_read_unless_a_place_is_marked():
    size = np.array([110.0, 84.0])
    left = (np.array([80.0, 120.0]), size * 1.1, 0.05, 0.5)
    right = (np.array([230.0, 120.0]), size, -0.1, 0.6)
    linear, (first, second) = sheet(left, right)
    read, other = plates_in(linear)
    assert (off(read, first) < 2.0, off(other, second) < 2.0) == (True, True)
    read, other = plates_in(linear, at=(230.0, 100.0))
    assert (off(read, second) < 2.0, off(other, first) < 2.0) == (True, True)
    assert plates_in(linear, at=(155.0, 10.0)) == ()
    assert plates_in(linear, at=(900.0, -4.0)) == ()
    framed = sheet((left[0], size * 1.4, 0.0, 0.6), (left[0], size * 1.25, 0.0, 0.03), left)[0]
    assert len(plates_in(framed, at=tuple(left[0]))) == 1  # a frame is not another plate


@pytest.mark.parametrize("lip", [0.0, 5.0])
def test_a_finished_plate_ends_at_its_edge_and_not_at_its_holders_lip(lip):
    middle, wide = np.array([160.0, 120.0]), np.array([200.0, 150.0])
    linear, (corners, _) = sheet(
        (middle, wide, 0.03, 0.012), (middle, wide - 2 * lip, 0.03, 0.2), ground=0.003
    )
    assert off(plate_corners(linear, dark=True), corners) < 2.0
