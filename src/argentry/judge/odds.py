"""The odds of a finding, by a figure and the limit from which it counts."""


def odds_over(figure: float, limit: float, power: float) -> float:
    """Return the odds that a figure is over its limit. [1].

    Parameters
    ----------
    figure : float
        Not below 0, in the unit of the limit.
    limit : float
        Where the odds are even.
    power : float
        The higher, the less room for doubt on either side.

    Examples
    --------
    >>> odds_over(2.0, 2.0, 6.0), odds_over(4.0, 2.0, 1.0)
    (0.5, 0.6666666666666666)
    """
    return float(1.0 / (1.0 + (limit / max(figure, 1e-9)) ** power))
