"""How far a number may go: taken at both its ends, refused just beyond them."""

from math import inf, nan

import pytest

from argentry.errors import BadInput


def is_taken_within(call, low, high, *, step=None, open_low=False):
    """Assert that a call takes numbers from `low` to `high`; the low end itself if not open."""
    near = 1e-6 * (high - low) if step is None else step
    for right in (low + near if open_low else low, high):
        call(right)
    for wrong in (low if open_low else low - near, high + near, *(() if step else (nan, inf))):
        with pytest.raises(BadInput):
            call(wrong)
