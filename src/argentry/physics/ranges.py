"""One check of numbers and arrays against a range, which names the first element that fails."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from argentry import trade
from argentry.arrays import Floats
from argentry.errors import check_range


def within(name: str, given: ArrayLike, low: float, high: float, unit: str) -> Floats:
    """Return `given` as an array when all of it lies from `low` to `high`.

    Parameters
    ----------
    name : str
        What it is, for the sentence.
    given : array_like
        Any shape. [unit]
    low, high : float
        Allowed range, both ends included. [unit]
    unit : str
        As shown to the maker; ``"1"`` for a pure number.

    Returns
    -------
    ndarray
        Same shape. [unit]

    Raises
    ------
    BadInput
        If an element is out of range or NaN; the sentence names the first such.
    """
    array = np.asarray(given, dtype=np.float64)
    bad = array[~((array >= low) & (array <= high))]  # NaN lands here
    if bad.size:
        check_range(name, float(bad[0]), low, high, unit)
    return array


def checked(name: str, given: ArrayLike, subject: str, key: str) -> Floats:
    """Return `given` as an array when all of it lies in a trade fact's range.

    Parameters
    ----------
    name : str
        What it is, for the sentence.
    given : array_like
        Any shape. [the fact's unit]
    subject, key : str
        The fact, for example ``"air"`` and ``"pressure"``.

    Returns
    -------
    ndarray
        Same shape. [the fact's unit]
    """
    fact = trade.facts(subject)[key]
    return within(name, given, fact.low, fact.high, fact.unit)
