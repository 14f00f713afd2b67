"""Matrix products in blocks."""

import numpy as np
import pytest

from argentry.learn.stages.blocks import inverse_root, product


def test_products_in_blocks_are_products():
    random = np.random.default_rng(3)
    a, b, v = random.normal(size=(300, 90)), random.normal(size=(90, 120)), random.normal(size=90)
    assert product(a, b) == pytest.approx(a @ b)
    assert product(a, v) == pytest.approx(a @ v)
    assert product(a[:, :0], b[:0]) == pytest.approx(np.zeros((300, 120)))


@pytest.mark.parametrize("size", [1, 64, 65, 200])
def test_root_of_the_inverse(size):
    half = np.random.default_rng(size).normal(size=(size, 2 * size))
    matrix = half @ half.T + np.eye(size)
    root = inverse_root(matrix)
    assert root @ root.T == pytest.approx(np.linalg.inv(matrix), abs=1e-10)
    assert np.allclose(root, np.triu(root))
