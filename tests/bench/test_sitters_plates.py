"""A sitter gets a plate of the size asked for, in whatever order the plates are named."""

from datetime import UTC, datetime

import pytest

from argentry.bench.sitters_plates import in_plan_order, of_a_size
from argentry.errors import BadInput
from argentry.records.day import Appointment

NOON = datetime(2026, 11, 30, 11, tzinfo=UTC)


def asked(**sizes):
    """Return the sitters of places, as `two="half"`, who want a size."""
    numbers = {"one": 1, "two": 2, "three": 3}
    return of_a_size(
        [Appointment(NOON, "Hine", numbers[at], NOON, NOON, size) for at, size in sizes.items()]
    )


@pytest.mark.parametrize(
    ("sizes", "wants", "order"),
    [
        (("half", "quarter", "sixth"), {"two": "half", "three": "sixth"}, "BAC"),
        (("half", "quarter", "sixth"), {"one": "half"}, "ABC"),
        (("half", "quarter", "sixth"), {"one": "sixth", "two": "half"}, "CAB"),
        (("quarter", None), {"one": "half"}, "BA"),
        (
            (None, "half"),
            {"one": "half", "two": "sixth"},
            "BA",
        ),  # the new one is left for the other
        (("half", "half"), {"two": "half"}, "AB"),
        (("half", "quarter"), {"three": "sixth"}, "AB"),  # that plate is not in the run
        (("quarter", "half"), {"one": ""}, "AB"),
    ],
)
def test_the_order_of_the_plates(sizes, wants, order):
    labels = "ABC"[: len(sizes)]
    assert "".join(in_plan_order(labels, sizes, asked(**wants))) == order


def test_a_size_that_no_plate_has_is_told_with_who_wants_it():
    said = "plates: Hine at 11:00 wants the plate size half, which none of those named has "
    said += r"\(A quarter, B sixth\); name one of that size"
    with pytest.raises(BadInput, match=said):
        in_plan_order("AB", ("quarter", "sixth"), asked(one="half"))
