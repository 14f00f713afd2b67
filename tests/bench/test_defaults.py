"""What the bench takes where nothing is said: nothing."""

from tests.defaults import beyond_nothing, modules_of

from argentry import bench


def test_what_is_left_out_is_nothing():
    assert modules_of(bench)
    assert beyond_nothing(bench) == {}
