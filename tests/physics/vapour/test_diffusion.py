"""The start of fuming: series, its inverse, and a solution by finite differences beside it."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from argentry.physics.vapour import diffusion

HINDRANCES = st.one_of(st.just(0.0), st.floats(1e-6, 20.0))


def by_differences(time, hindrance, *, rested, cells=100):
    """Return what the plate takes, by stepping the diffusion equation through the gap."""
    dx = 1.0 / cells
    steps = int(np.ceil(time / (0.4 * dx * dx)))
    dt = time / steps
    c = np.full(cells + 1, 1.0 if rested else 0.0)
    c[0], amount, before = 0.0, 0.0, None
    for step in range(steps):
        inner = c[1:-1] + dt / dx**2 * (c[2:] - 2 * c[1:-1] + c[:-2])
        floor = (hindrance * inner[-1] / dx + 1.0) / (hindrance / dx + 1.0)
        c = np.concatenate([[0.0], inner, [floor]])
        flow = (4 * c[1] - c[2]) / (2 * dx)
        if step == 0:  # the half space takes the first instant, where the flow has no limit
            amount = 2 * np.sqrt(dt / np.pi) if rested else 0.0
        else:
            amount += dt * (flow + before) / 2
        before = flow
    return amount


@pytest.mark.parametrize("rested", [True, False])
@pytest.mark.parametrize("hindrance", [0.0, 0.5])
def test_series_agrees_with_finite_differences(rested, hindrance):
    for time in (0.05, 0.3, 1.0):
        expected = by_differences(time, hindrance, rested=rested)
        assert diffusion.taken(time, hindrance, rested=rested) == pytest.approx(
            expected, rel=3e-3, abs=6e-4
        )


@settings(deadline=None)
@given(HINDRANCES, st.booleans(), st.floats(0.0, 30.0))
def test_time_is_the_inverse_of_amount(hindrance, rested, time):
    amount = diffusion.taken(time, hindrance, rested=rested)
    back = diffusion.time_to_take(amount, hindrance, rested=rested)
    again = diffusion.taken(back, hindrance, rested=rested)
    assert again == pytest.approx(float(amount), rel=1e-9, abs=1e-12)


@settings(deadline=None)
@given(HINDRANCES, st.booleans(), st.floats(0.0, 10.0), st.floats(0.0, 1.0))
def test_amount_never_falls(hindrance, rested, time, more):
    both = diffusion.taken([time, time + more], hindrance, rested=rested)
    assert both[1] >= both[0] - 1e-14


@settings(deadline=None)
@given(HINDRANCES, st.floats(0.0, 30.0))
def test_a_swept_box_lags_and_a_rested_one_leads(hindrance, time):
    steady = diffusion.steady_rate(hindrance) * time
    assert diffusion.taken(time, hindrance, rested=False) <= steady + 1e-12
    assert diffusion.taken(time, hindrance, rested=True) >= steady - 1e-12


def test_the_series_meets_the_half_space_without_a_step():
    edge = diffusion.HALF_SPACE_ENDS
    around = diffusion.taken([edge * (1 - 1e-9), edge * (1 + 1e-9)], 0.0, rested=True)
    assert around[1] == pytest.approx(around[0], rel=1e-8)


def test_no_amount_takes_no_time():
    assert diffusion.time_to_take(0.0, 0.0, rested=True) == 0.0
    assert diffusion.time_to_take(0.0, 0.0, rested=False) == 0.0


def test_a_covered_floor_beside_a_bare_one_changes_neither():
    both = diffusion.taken(0.3, [0.0, 1.0], rested=True)
    alone = [float(diffusion.taken(0.3, one, rested=True)) for one in (0.0, 1.0)]
    assert both == pytest.approx(alone, rel=1e-12)
    assert both[0] > both[1]
