"""The year of light is the same light as pvlib's; the whole year is timed by the benchmark."""

import numpy as np
import pytest


def test_hours_of_light_are_those_of_the_library():
    """An outside check: pvlib's sun and clear sky at two dozen moments of a year."""
    from benchmarks import light

    times = light.year()[:: 6 * 5 * 73]
    (height, sums), (theirs, reference) = light.ours(times), light.theirs(times)
    np.testing.assert_allclose(height, theirs, atol=0.05)
    lit = height > 5.0
    assert lit.sum() >= 5
    assert sums[:, lit] == pytest.approx(reference[:, lit], rel=0.01)
