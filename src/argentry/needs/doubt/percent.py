"""Shares in percent as every screen and sheet says them."""

from __future__ import annotations

import math

from argentry.records.day import Range

NONE_YET = "no plate yet"
GOOD, GOOD_ALL = "{middle} good ({ends}; {behind})", "{middle} good ({behind})"


def percent(share: float, samples: int = 0) -> str:
    """Return a share in percent, never more sure than the days behind it.

    Parameters
    ----------
    share : float
        0 to 1. [1]
    samples : int
        Number of simulated days behind it; 0 when it is not a count.

    Returns
    -------
    str
        ``91 %``; ``>99 %`` or ``<1 %`` near certainty, since a few hundred days prove no more.
    """
    if not math.isfinite(share):
        return "–"
    whole = round(100.0 * share)
    if whole >= 100 and (share < 1.0 or samples):
        return ">99 %"
    if whole <= 0 and (share > 0.0 or samples):
        return "<1 %"
    return f"{whole} %"


def percent_range(span: Range) -> str:
    """Return a share in percent with its 80 % range: ``58 % (42–73)``; ``>99 %`` where all is."""
    middle, ends = _said(span)
    return f"{middle} ({ends})" if ends else middle


def good_share(span: Range, behind: str) -> str:
    """Return the chance of a good plate with its range and what stands behind it.

    Examples
    --------
    >>> from argentry.records.day import Range
    >>> good_share(Range(0.41, 0.58, 0.72), "3 plates"), good_share(Range(0.001, 0.002, 0.004), "-")
    ('58 % good (41–72; 3 plates)', '<1 % good (-)')
    """
    middle, ends = _said(span)
    return (GOOD if ends else GOOD_ALL).format(middle=middle, ends=ends, behind=behind)


def _said(span: Range) -> tuple[str, str]:
    """Return a share in percent and the ends of its range; none where all three are the same."""
    low, middle, high = map(percent, (span.low, span.middle, span.high))
    ends = "" if low == middle == high else "–".join(one.removesuffix(" %") for one in (low, high))
    return middle, ends
