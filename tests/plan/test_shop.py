"""What is said of simulated days: finished, sound, clean, and how long they were."""

import numpy as np

from argentry.plan.shop import Runs


def run(ends, late=(0.0, 0.0, 0.0), ripe=(0.0, 0.0, 0.0)):
    last = np.array(ends, dtype=float)
    table = np.stack([last - 1.0, last], axis=1)[None, None]
    kinds = np.zeros((1, 1, 3), dtype=np.int64)
    return Runs(table - 1.0, table, kinds, np.array([[late]]), np.array([[ripe]]))


def test_a_plate_is_finished_when_its_last_block_ended():
    day = run([100.0, np.nan, 90.0])
    assert day.finished.tolist() == [[[True, False, True]]]
    assert day.length.tolist() == [[100.0]]


def test_sound_is_finished_with_no_limit_overrun():
    day = run([100.0, np.nan, 90.0], late=(0.0, 0.0, 0.5))
    assert day.sound.tolist() == [[[True, False, False]]]


def test_clean_is_sound_and_never_ripe_in_the_frame_too_long():
    day = run([100.0, 95.0, 90.0], late=(0.0, 2.0, 0.0), ripe=(0.5, 0.0, 0.0))
    assert day.sound.tolist() == [[[True, False, True]]]
    assert day.clean.tolist() == [[[False, False, True]]]


def test_a_day_on_which_nothing_was_finished_has_no_length():
    assert np.isnan(run([np.nan] * 3).length).all()
