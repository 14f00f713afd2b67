"""Matrix products in blocks too small to be shared out over threads.

The matrices of learning are small and many. A BLAS that wakes a thread for each product gains
little on an idle machine and loses tenfold on a busy one, where threads wait for each other.
"""

from __future__ import annotations

import numpy as np

from argentry.arrays import Floats

# OpenBLAS shares out a product of m x k by k x n when m n k > 2**18 (GEMM_MULTITHREAD_THRESHOLD),
# and one by a vector when m k > 9216 (its interface/gemv.c).
_SMALL, _SMALL_BY_VECTOR = 2**18, 9216
_SMALL_SQUARE = 64  # measured: from 100 rows on, its factorings wake threads as well


def product(a: Floats, b: Floats) -> Floats:
    """Return ``a @ b`` for a (m, k) and b (k, n) or (k,)."""
    vector = b.ndim == 1
    width = max(1, a.shape[1] * (1 if vector else b.shape[1]))
    rows = max(1, (_SMALL_BY_VECTOR if vector else _SMALL) // width)
    if rows >= a.shape[0]:
        return np.asarray(a @ b)
    out = np.empty((a.shape[0], *b.shape[1:]))
    for start in range(0, a.shape[0], rows):
        np.matmul(a[start : start + rows], b, out=out[start : start + rows])
    return out


def inverse_root(matrix: Floats) -> Floats:
    """Return R with R R' = the inverse of a positive definite matrix; R is upper triangular.

    The matrix is halved until its parts are small: with L the lower Cholesky factor, R = inv(L)'.
    """
    return np.asarray(_inverse_lower(matrix).T)


def _inverse_lower(matrix: Floats) -> Floats:
    size = matrix.shape[0]
    if size <= _SMALL_SQUARE:
        return np.asarray(np.linalg.inv(np.linalg.cholesky(matrix)))
    half = size // 2
    first = _inverse_lower(matrix[:half, :half])
    below = product(matrix[half:, :half], first.T)
    second = _inverse_lower(matrix[half:, half:] - product(below, below.T))
    out = np.zeros_like(matrix)
    out[:half, :half], out[half:, half:] = first, second
    out[half:, :half] = -product(product(second, below), first)
    return out
