import numpy as np
import pytest

from argentry.errors import ArgentryError
from argentry.learn.stages.posterior import climb, effective_draws, grouped_rhat, walk


class Normal:
    """A normal density with correlated unknowns."""

    def __init__(self, mean, cover):
        self.mean, self.precision = np.asarray(mean), np.linalg.inv(cover)

    def value(self, points):
        off = points - self.mean
        return -0.5 * np.einsum("ci,ij,cj->c", off, self.precision, off)

    def value_and_slope(self, points):
        return self.value(points), -(points - self.mean) @ self.precision

    def curvature(self, point):
        return self.precision


class Gamma:
    """The log of a gamma variable: skew, so that its summit is not its mean."""

    shape = 3.0

    def value(self, points):
        return (self.shape * points - np.exp(points)).sum(axis=1)

    def value_and_slope(self, points):
        return self.value(points), self.shape - np.exp(points)

    def curvature(self, point):
        return np.diag(np.exp(point))


COVER = np.array([[4.0, 1.5, 0.0], [1.5, 1.0, 0.1], [0.0, 0.1, 0.09]])


def test_summit_of_a_normal_in_one_step():
    summit = climb(Normal([1.0, -2.0, 0.5], COVER), np.zeros(3))
    assert summit.point == pytest.approx([1.0, -2.0, 0.5])
    assert summit.spread @ summit.spread.T == pytest.approx(COVER)
    assert summit.steps <= 2


def test_walks_on_a_normal():
    density = Normal([1.0, -2.0, 0.5], COVER)
    draws = walk(density, climb(density, np.zeros(3)), walks=128, draws=60, warm=20)
    assert draws.points.shape == (128 * 60, 3)
    assert draws.points.mean(axis=0) == pytest.approx([1.0, -2.0, 0.5], abs=0.1)
    assert np.cov(draws.points.T) == pytest.approx(COVER, abs=0.2)
    assert draws.settled
    assert 0.6 < draws.accepted < 0.99


def test_walks_that_would_start_where_the_density_is_not_finite_are_drawn_in():
    """The walls stand where hardly any start lies within them at first."""

    class Walled(Normal):
        def value_and_slope(self, points):
            value, slope = super().value_and_slope(points)
            return np.where(np.abs(points - self.mean).max(axis=1) < 0.05, value, -np.inf), slope

    density = Walled([1.0, -2.0], np.eye(2))
    draws = walk(density, climb(density, np.array([1.0, -2.0])), walks=64, draws=20, warm=20)
    assert np.abs(draws.points - density.mean).max() < 0.05
    assert draws.points.mean(axis=0) == pytest.approx(density.mean, abs=0.01)


def test_walks_find_what_the_summit_misses():
    # mean and variance of log gamma(3): digamma(3) = 0.9228, trigamma(3) = 0.3949
    density = Gamma()
    summit = climb(density, np.zeros(2))
    assert summit.point == pytest.approx(np.log([3.0, 3.0]), abs=1e-4)
    draws = walk(density, summit, walks=128, draws=100, warm=20)
    assert draws.points.mean(axis=0) == pytest.approx([0.9228, 0.9228], abs=0.03)
    assert draws.points.var(axis=0) == pytest.approx([0.3949, 0.3949], abs=0.04)


def test_same_seed_same_draws():
    density = Normal([0.0, 0.0, 0.0], COVER)
    summit = climb(density, np.ones(3))
    first, second = (walk(density, summit, seed=5).points for _ in range(2))
    assert np.array_equal(first, second)
    assert not np.array_equal(first, walk(density, summit, seed=6).points)


def test_a_walk_that_never_moves_is_not_settled():
    random = np.random.default_rng(1)
    stuck = np.repeat(random.normal(size=(8, 1, 1)), 40, axis=1)
    assert grouped_rhat(stuck + 1e-6 * random.normal(size=stuck.shape))[0] > 1.02
    assert effective_draws(stuck + 1e-6 * random.normal(size=stuck.shape))[0] < 20
    free = random.normal(size=(8, 400, 1))
    assert grouped_rhat(free)[0] < 1.02
    assert effective_draws(free)[0] > 500


def test_what_two_short_walks_are_worth_by_hand():
    # means of the walks 1 and 3 (variance 2), of all draws 2 (variance 3.5): 2 walks * 3.5 / 2;
    # squares off the middle: means 2 and 5 (4.5), variance 12.25, so worth more
    paths = np.array([[0.0, 2.0], [1.0, 5.0]])[:, :, None]
    assert effective_draws(paths) == pytest.approx([3.5])
    # two walks that each stay where they are: means 0.5 and 3.5 (4.5), 2 * 3.5 / 4.5
    assert effective_draws(np.swapaxes(paths, 0, 1)) == pytest.approx([14 / 9])


def test_halves_are_as_long_as_each_other_and_an_odd_draw_is_in_none():
    paths = np.random.default_rng(3).normal(size=(8, 41, 1))
    far = paths.copy()
    far[:, 40] = 1e6
    assert grouped_rhat(far)[0] == grouped_rhat(paths)[0] < 1.1


def test_a_drift_under_way_shows():
    random = np.random.default_rng(2)
    paths = random.normal(size=(32, 40, 1)) + np.linspace(0.0, 4.0, 40)[None, :, None]
    assert grouped_rhat(paths)[0] > 1.1


def test_a_density_without_a_summit_is_told_and_not_walked_on_for_ever():
    class Nowhere(Normal):
        def value_and_slope(self, points):
            return np.full(len(points), np.nan), np.zeros_like(points)

    summit = climb(Normal(np.zeros(3), COVER), np.zeros(3))
    with pytest.raises(ArgentryError, match="not finite"):
        walk(Nowhere(np.zeros(3), COVER), summit)


def test_a_step_out_of_where_the_density_is_known_is_shortened():
    class Positive:
        """log x - x, which there is no value of below 0."""

        def value(self, points):
            return (np.log(points) - points).sum(axis=1)

        def value_and_slope(self, points):
            return self.value(points), 1.0 / points - 1.0

        def curvature(self, point):
            return np.diag(point**-2.0)

    summit = climb(Positive(), np.array([2.9]))  # the whole step would end below 0
    assert summit.point == pytest.approx([1.0], abs=1e-3)
