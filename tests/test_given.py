"""What a notebook gives is looked at by kind; what a function reads itself is left to it."""

import pytest

from argentry.errors import BadInput
from argentry.given import checked, look


@checked("shown")
def show(day: "date | str", count: "int | None" = None, own: "Unknown" = 0):  # noqa: F821
    """Return what it was given."""
    return day, count, own


def test_right_kinds_and_kinds_not_known_come_through():
    assert show("May", 3, own=[]) == ("May", 3, [])
    assert show(5) == (5, None, 0), "a date is read, and refused, by the function itself"
    assert (show.__name__, show.__doc__) == ("shown", "Return what it was given.")


@pytest.mark.parametrize("count", [2.5, True, [1], "3"])
def test_another_kind_is_refused_by_the_name_of_its_argument(count):
    with pytest.raises(BadInput, match=r"^count: .*; give a (whole )?number"):
        show("May", count)


def test_a_word_alone_is_no_list_of_words():
    """Of ``fixed="coat_nm"`` the letter c was refused as a setting."""
    look("fixed", ("coat_nm",), "Collection[str]")
    with pytest.raises(BadInput, match=r"^fixed: 'coat_nm' is not a list of words"):
        look("fixed", "coat_nm", "Collection[str]")
