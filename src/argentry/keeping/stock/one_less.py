"""What one failure less in ten saves, and how far that is known from a few plates."""

from __future__ import annotations

from dataclasses import dataclass

FEWER = 0.1  # share of the plates that would come out good instead


@dataclass(frozen=True)
class Saving:
    """What one failure less in ten would save.

    Attributes
    ----------
    per_good, per_good_low, per_good_high : float or None
        On every good plate, and its 80 % range; null without one. [currency]
    all_of_them, low, high : float or None
        The same over the good plates there would have been. [currency]
    """

    per_good: float | None = None
    per_good_low: float | None = None
    per_good_high: float | None = None
    all_of_them: float | None = None
    low: float | None = None
    high: float | None = None


def one_less(total: float, plates: int, good: int) -> Saving:
    """Return what one failure less in ten would save; nothing known without a good plate.

    The range is that of the share of good plates, of which these are a sample: between the tenth
    and ninetieth percent of its Jeffreys interval [1]_. What the plates cost counts as known.

    Parameters
    ----------
    total : float
        What all plates cost. [currency]
    plates, good : int
        How many were made, and how many of them came out good.

    References
    ----------
    .. [1] L. D. Brown, T. T. Cai and A. DasGupta, Interval estimation for a binomial proportion,
       Statistical Science 16 (2001) 101-133.

    Examples
    --------
    >>> found = one_less(109.0, 4, 2)
    >>> round(found.per_good, 2), round(found.per_good_low, 2), round(found.per_good_high, 2)
    (9.08, 4.01, 37.39)
    """
    if not good:
        return Saving()
    from scipy.special import betaincinv

    each = total / plates
    many, few = (float(betaincinv(good + 0.5, plates - good + 0.5, share)) for share in (0.9, 0.1))

    def saved(share: float) -> tuple[float, float]:
        more = min(share + FEWER, 1.0)
        own = each / share - each / more
        return own, own * more * plates

    middle, low, high = saved(good / plates), saved(many), saved(few)
    # where all came out good there is nothing to save, as far as is seen
    return Saving(
        middle[0], min(low[0], middle[0]), high[0], middle[1], min(low[1], middle[1]), high[1]
    )
