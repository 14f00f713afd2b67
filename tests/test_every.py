"""Many cases in one test: all are tried, and those that fail are named."""

import pytest
from tests.every import every


def test_each_case_is_tried_and_each_that_fails_is_named():
    seen = []

    @every("a, b", [(1, 1), (1, 2), (3, 3), (2, 1)])
    def same(fixture, a, b):
        """Told."""
        seen.append((fixture, a, b))
        assert a == b

    with pytest.raises(pytest.fail.Exception) as told:
        same(fixture="f")
    assert seen == [("f", 1, 1), ("f", 1, 2), ("f", 3, 3), ("f", 2, 1)]
    assert str(told.value).startswith("2 of 4:\n(1, 2)\n(2, 1)\nTraceback")
    assert list(same.__signature__.parameters) == ["fixture"]
    assert (same.__name__, same.__doc__) == ("same", "Told.")


def test_a_test_that_expects_a_refusal_fails_where_none_comes():
    @every("number", [0, 1])
    def refused(number):
        with pytest.raises(ZeroDivisionError):
            1 / number

    with pytest.raises(pytest.fail.Exception, match=r"1 of 2:\n1\n"):
        refused()


def test_no_case_at_all_is_a_failure():
    with pytest.raises(AssertionError):
        every("number", [])(lambda number: None)()
