"""Complex refractive index of silver, of silver iodide, and of the mixed layer between them.

The sign convention is n + ik with k positive in an absorbing medium (fields go as exp(-i w t)).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from argentry import trade
from argentry.physics.ranges import within

ComplexArray = NDArray[np.complex128]

# The silver table starts at 342.50 nm, the iodide table ends at 900 nm.
LOW_NM, HIGH_NM = 342.5, 892.0


def _index(name: str, wavelength_nm: ArrayLike) -> ComplexArray:
    wavelength = within("wavelength", wavelength_nm, LOW_NM, HIGH_NM, "nm")
    columns = trade.table(name).columns
    n = np.interp(wavelength, columns["wavelength_nm"], columns["n"])
    k = np.interp(wavelength, columns["wavelength_nm"], columns["k"])
    return np.asarray(n + 1j * k, dtype=np.complex128)


def silver_index(wavelength_nm: ArrayLike) -> ComplexArray:
    """Return the complex refractive index of silver.

    Parameters
    ----------
    wavelength_nm : array_like
        Vacuum wavelength, 342.5 to 892 nm, any shape. [nm]

    Returns
    -------
    ndarray of complex128
        n + ik, linear between the tabulated points, same shape. [1]

    Raises
    ------
    BadInput
        If a wavelength lies outside the table or is NaN.

    References
    ----------
    P. B. Johnson & R. W. Christy, Phys. Rev. B 6, 4370 (1972).
    """
    return _index("silver_johnson_christy", wavelength_nm)


def silver_iodide_index(wavelength_nm: ArrayLike) -> ComplexArray:
    """Return the complex refractive index of silver iodide, model AgI-A.

    A model, not a measurement: exciton positions and n at 589.3 nm are from literature, strengths
    and widths are assumed (builders/film_tables.py). Colour hardly depends on the assumed part;
    absolute absorption near 420 nm does.

    Parameters
    ----------
    wavelength_nm : array_like
        Vacuum wavelength, 342.5 to 892 nm, any shape. [nm]

    Returns
    -------
    ndarray of complex128
        n + ik, linear between the tabulated points, same shape. [1]

    Raises
    ------
    BadInput
        If a wavelength lies outside the table or is NaN.
    """
    return _index("silver_iodide_model_a", wavelength_nm)


def mixed_index(inclusion: ArrayLike, host: ArrayLike, share: float) -> ComplexArray:
    """Return the index of a mixture of two media by the symmetric effective-medium formula.

    Spheres of both kinds in the mixture itself::

        share (e_i - e)/(e_i + 2 e) + (1 - share)(e_h - e)/(e_h + 2 e) = 0

    a quadratic in e, of which the root with non-negative absorption is taken.

    Parameters
    ----------
    inclusion, host : array_like
        Complex indices of the two media, of one shape. [1]
    share : float
        Share of the inclusion by volume, 0 to 1. [1]

    Returns
    -------
    ndarray of complex128
        Index of the mixture, same shape. [1]

    References
    ----------
    D. A. G. Bruggeman, Ann. Phys. 416, 636 (1935).
    """
    e_i = np.asarray(inclusion, dtype=np.complex128) ** 2
    e_h = np.asarray(host, dtype=np.complex128) ** 2
    b = (3 * share - 1) * e_i + (2 - 3 * share) * e_h
    root = np.sqrt(b * b + 8 * e_i * e_h)
    plus, minus = (b + root) / 4, (b - root) / 4
    # Both roots solve it; the absorbing one is physical. Where neither medium absorbs, it is the
    # positive one: the larger real part then decides.
    absorbs = plus.imag - minus.imag
    take_plus = np.where(np.abs(absorbs) > 1e-12, absorbs > 0, plus.real > minus.real)
    index = np.sqrt(np.where(take_plus, plus, minus))
    return np.asarray(np.where(index.imag < 0, -index, index), dtype=np.complex128)
