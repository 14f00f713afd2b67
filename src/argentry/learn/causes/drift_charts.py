"""Control charts: has something drifted, told from sums that forget nothing.

A cumulative sum adds up how far each value lies beyond half a spread from what was usual, and is
set back to zero whenever it falls below it; a slow drift that no single value betrays piles up.
The chart starts itself: each value is judged by the mean and spread of those before it, so no
calm stretch is needed beforehand.

References
----------
.. [1] E. S. Page, Biometrika 41 (1954) 100 (the sum; recalled).
.. [2] D. Brook and D. A. Evans, Biometrika 59 (1972) 539 (run lengths; recalled).
.. [3] D. M. Hawkins, The Statistician 36 (1987) 299 (self-starting sums; recalled).
.. [4] S. H. Steiner et al., Biostatistics 1 (2000) 441 (risk-adjusted sums; recalled).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.learn.stages.derived_conditions import measure
from argentry.learn.stages.table import in_order, succeeded
from argentry.records.causes import Chart
from argentry.trade.conditions import conditions

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import date

    from numpy.typing import ArrayLike

    from argentry.arrays import Floats
    from argentry.records.plate import Making


def cusum(z: ArrayLike, slack: float) -> tuple[Floats, Floats]:
    """Return the sums above and below of standardised values.

    Parameters
    ----------
    z : ArrayLike
        (n,) values in standard deviations from what is usual.
    slack : float
        Taken off each step; half the shift that shall be found. [standard deviations]

    Returns
    -------
    tuple of Floats
        Both (n,): ``max(0, S + z - slack)`` and ``max(0, S - z - slack)``.
    """
    values = np.asarray(z, dtype=float)
    above, below = np.zeros((2, values.size))
    high = low = 0.0
    for i, value in enumerate(values):
        high, low = max(0.0, high + value - slack), max(0.0, low - value - slack)
        above[i], below[i] = high, low
    return above, below


def run_length(slack: float, limit: float, shift: float = 0.0, *, cells: int = 200) -> float:
    """Return after how many values a one-sided sum crosses its limit on average.

    Parameters
    ----------
    slack, limit : float
        As in `cusum`, and the limit. [standard deviations]
    shift : float
        True distance from what is usual. [standard deviations]
    cells : int
        Cells into which the height of the sum is cut.

    Returns
    -------
    float
        Average run length from a sum of zero. [values]
    """
    from scipy.special import ndtr

    width = 2.0 * limit / (2 * cells - 1)
    middle = np.arange(cells) * width
    step = middle[None, :] - middle[:, None] + slack - shift
    move = ndtr(step + width / 2.0) - ndtr(step - width / 2.0)
    move[:, 0] = ndtr(step[:, 0] + width / 2.0)
    return float(np.linalg.solve(np.eye(cells) - move, np.ones(cells))[0])


def two_sided(one_sided_above: float, one_sided_below: float) -> float:
    """Return the run length of both sums together: ``1/L = 1/L_above + 1/L_below``."""
    return 1.0 / (1.0 / one_sided_above + 1.0 / one_sided_below)


def self_starting(values: ArrayLike) -> Floats:
    """Return each value in standard deviations from those before it, as a normal would lie.

    The distance from the running mean, over the running spread, follows Student's distribution;
    it is brought to the place of a normal of the same rarity.

    Parameters
    ----------
    values : ArrayLike
        (n,) in order of time.

    Returns
    -------
    Floats
        (n,); 0 for the first two, and where nothing varied before.
    """
    from scipy.special import ndtri, stdtr

    x = np.asarray(values, dtype=float)
    z = np.zeros(x.size)
    for i in range(2, x.size):
        spread = float(x[:i].std(ddof=1))
        if spread <= 1e-9 * max(1.0, abs(float(x[:i].mean()))):
            continue
        t = (x[i] - x[:i].mean()) / spread * np.sqrt(i / (i + 1.0))
        z[i] = ndtri(np.clip(stdtr(i - 1.0, t), 1e-6, 1.0 - 1e-6))
    return z


def good_bad_steps(good: ArrayLike, expected: ArrayLike, odds_ratio: float) -> Floats:
    """Return the steps of a good/bad sum adjusted for what each plate was expected to do.

    The step is the logarithm of how much more likely the making would be if the odds of failing
    had grown by `odds_ratio`.

    Parameters
    ----------
    good : ArrayLike
        (n,) of bool.
    expected : ArrayLike
        (n,) probability of a good plate, before it was made. [1]
    odds_ratio : float
        The worsening that shall be found: odds of failing now over odds before. [1]

    Returns
    -------
    Floats
        (n,) steps; upwards for failures, the more so the less they were expected.
    """
    won = np.asarray(good, dtype=bool)
    fail = 1.0 - np.clip(np.asarray(expected, dtype=float), 1e-6, 1.0 - 1e-6)
    grown = 1.0 + (odds_ratio - 1.0) * fail
    return np.asarray(np.where(won, -np.log(grown), np.log(odds_ratio / grown)))


@dataclass(frozen=True)
class _Series:
    days: tuple[date, ...]
    values: Floats


def studio_charts(makings: Sequence[Making]) -> tuple[Chart, ...]:
    """Return the charts of what was measured, then of good against bad.

    Parameters
    ----------
    makings : sequence of Making
        The studio's plates, in any order.

    Returns
    -------
    tuple of Chart
        One for each quantity of ``causes.toml`` that was read at least once, then good and bad.
    """
    ordered = in_order(makings)
    charts = [
        _chart(entry, series)
        for entry in trade.toml("causes")["chart"]
        if (series := _by_session(ordered, str(entry["quantity"]))).values.size
    ]
    bad = _good_bad(ordered)
    return (*charts, bad) if bad else tuple(charts)


def _by_session(ordered: Sequence[Making], quantity: str) -> _Series:
    """Return the mean of a quantity on each session; plates of one session are not new evidence."""
    condition = next(c for c in conditions() if c.key == quantity)
    by: dict[str, list[float]] = {}
    day: dict[str, date] = {}
    for o in ordered:
        value = measure(condition, o.conditions)
        if value is not None:
            by.setdefault(o.session, []).append(value)
            day[o.session] = o.day
    return _Series(tuple(day.values()), np.array([float(np.mean(v)) for v in by.values()]))


def _chart(entry: Mapping[str, str], series: _Series) -> Chart:
    condition = next(c for c in conditions() if c.key == entry["quantity"])
    slack, limit = trade.value("causes", "chart_slack"), trade.value("causes", "chart_limit")
    above, below = cusum(self_starting(series.values), slack)
    shown = series.values * condition.width
    doublings = condition.scale == "doublings"
    shown = condition.centre * 2.0**shown if doublings else condition.centre + shown
    every = run_length(slack, limit)
    return _made(
        (condition.key, entry["title"], condition.unit), series.days, shown, (above, below),
        limit, two_sided(every, every),
    )  # fmt: skip


def _good_bad(ordered: Sequence[Making]) -> Chart | None:
    known = [(o, good) for o in ordered if (good := succeeded(o)) is not None]
    if not known:
        return None
    won = np.array([good for _, good in known])
    before = np.concatenate([[0.0], np.cumsum(won)[:-1]])
    expected = (before + 1.0) / (np.arange(won.size) + 2.0)  # of the plates before, at even odds
    ratio, limit = trade.value("causes", "worse_odds"), trade.value("causes", "worse_limit")
    total, sums = 0.0, []
    for step in good_bad_steps(won, expected, ratio):
        total = max(0.0, total + float(step))
        sums.append(total)
    days = tuple(o.day for o, _ in known)
    rate = float(won.mean())
    every = good_bad_run_length(rate, ratio, limit)
    names = ("failures", "failures against what was usual before", "1")
    return _made(
        names, days, 1.0 - won.astype(float), (np.array(sums), np.zeros(won.size)), limit, every
    )


def good_bad_run_length(good: float, odds_ratio: float, limit: float, *, cells: int = 400) -> float:
    """Return after how many plates the good/bad sum crosses its limit though nothing changed.

    Parameters
    ----------
    good : float
        Share of good plates. [1]
    odds_ratio, limit : float
        As in `good_bad_steps`, and the limit of the sum.
    cells : int
        Cells into which the height of the sum is cut.
    """
    rate = min(max(good, 0.01), 0.99)
    steps = good_bad_steps([True, False], [rate, rate], odds_ratio)
    height = np.linspace(0.0, limit, cells)
    move = np.zeros((cells, cells))
    for step, chance in zip(steps, (rate, 1.0 - rate), strict=True):
        to = np.maximum(height + step, 0.0)
        inside = to < limit
        place = to[inside] / height[1]
        low = np.floor(place).astype(int)
        part = place - low  # shared between the two cells around it
        rows = np.flatnonzero(inside)
        np.add.at(move, (rows, low), chance * (1.0 - part))
        np.add.at(move, (rows, np.minimum(low + 1, cells - 1)), chance * part)
    return float(np.linalg.solve(np.eye(cells) - move, np.ones(cells))[0])


def _past(days: tuple[date, ...], above: Floats, below: Floats, limit: float) -> str:
    """Return the last drift that is over by now, in words; or that there was none."""
    crossings = [
        (int(np.flatnonzero(line > limit)[-1]), way, line)
        for way, line in (("higher", above), ("lower", below))
        if (line > limit).any()
    ]
    if not crossings:
        return "No drift."
    last, way, line = max(crossings, key=lambda one: one[0])
    zeros = np.flatnonzero(line[:last] == 0.0)
    start = int(zeros[-1]) + 1 if zeros.size else 0
    peak = start + int(np.argmax(line[start : last + 1]))
    return "Was {way} from {first} to {last}; not now.".format(
        way=way, first=days[start].isoformat(), last=days[peak].isoformat()
    )


def _made(
    names: tuple[str, str, str],
    days: tuple[date, ...],
    values: Floats,
    sums: tuple[Floats, Floats],
    limit: float,
    every: float,
) -> Chart:
    above, below = sums
    enough = len(days) >= trade.value("causes", "chart_sessions")
    now = {"above": float(above[-1]), "below": float(below[-1])}
    toward = max(now, key=lambda side: now[side])
    standing = enough and now[toward] > limit
    line = above if toward == "above" else below
    start = int(np.flatnonzero(line[:-1] == 0.0)[-1]) + 1 if (line[:-1] == 0.0).any() else 0
    crossed = start + int(np.argmax(line[start:] > limit)) if standing else None
    if not enough:
        words = "Not enough to tell: {days_count} so far.".format(days_count=len(days))
    elif standing:
        way = "higher" if toward == "above" else "lower"
        words = "Has drifted {way} since {days}.".format(way=way, days=days[start].isoformat())
    else:
        words = _past(days, above, below, limit)
    return Chart(
        quantity=names[0],
        title=names[1],
        unit=names[2],
        days=days,
        values=tuple(float(v) for v in values),
        above=tuple(float(v) for v in above),
        below=tuple(float(v) for v in below),
        limit=limit,
        alarm=crossed,
        since=days[start] if standing else None,
        toward=toward if standing else "",
        false_alarm_every=every,
        enough=enough,
        words=words,
    )
