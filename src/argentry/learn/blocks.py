"""Matrix products in blocks too small to be shared out over threads.

The matrices of learning are small and many. A BLAS that wakes a thread for each product gains
little on an idle machine and loses tenfold on a busy one, where threads wait for each other.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["product"]

# OpenBLAS shares out a product of m x k by k x n when m n k > 2**18 (GEMM_MULTITHREAD_THRESHOLD),
# and one by a vector when m k > 9216 (its interface/gemv.c).
_SMALL, _SMALL_BY_VECTOR = 2**18, 9216


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
