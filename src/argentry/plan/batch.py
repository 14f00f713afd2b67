"""How many plates to begin to end with so many good ones by a day, and on which days."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.plan.batch_odds import (
    MOST,
    TIE,
    BetaChance,
    DrawnChance,
    chance_range,
    fewest,
    tails_of,
)
from argentry.records.decision import Cost, Need, PlatesOnDay

if TYPE_CHECKING:
    from datetime import date

    from argentry.arrays import Floats, Whole


LONGEST_DAYS = 3660
BEGIN = "Begin {start} for {good} by {by} with {asked} certainty."
NO_DAY = "No day until {by} holds a plate."
TOO_DULL = (
    "Begin {start} for {good} by {by}: with {certainty:.0f} % certainty, as too many years are too "
    "dull by then for {asked}."
)
TOO_FEW_DAYS = (
    "The days until {by} hold {start} plates, which give {good} with {certainty:.0f} % certainty; "
    "{lack}."
)
LACKS = "{asked} would need {wanted}"
NO_PROMISE = "{asked} cannot be promised with so little known"
YIELDED = "Of plates begun {chance:.0f} % come out good ({low:.0f} to {high:.0f} %; {behind})."
BEGUN_BETWEEN = (
    "As the weather goes, the last is begun between {low} and {high} (four years of five)."
)
BEGUN_FROM = (
    "As the weather goes, the last is begun on {low} at the soonest, and in more than one year of "
    "ten not by {by}."
)


@dataclass(frozen=True)
class PlateCost:
    """What one plate takes.

    Attributes
    ----------
    hours : float
        Of the maker's hands. [h]
    silver_g, gold_mg : float
        Silver on the plate and gold in its bath. [g, mg]
    money : float
        Silver, gold and sundries at the prices given. [their currency]
    """

    hours: float
    silver_g: float
    gold_mg: float
    money: float


def usual_plate_cost(
    area_cm2: float,
    hours: float,
    gold_mg: float,
    silver_um: float | None = None,
    prices: tuple[float, float, float] | None = None,
) -> PlateCost:
    """Return what one plate takes, from its area and the trade's prices or your own.

    Parameters
    ----------
    area_cm2 : float
        [cm2] Within 1 to 5000.
    hours : float
        Hands on one plate. [h]
    gold_mg : float
        Gold in its bath. [mg]
    silver_um : float, optional
        Silver as plated; else the trade's value. [µm]
    prices : tuple of float, optional
        Silver and gold [per g], sundries [per plate], in any currency; else the trade's, in euros.

    Returns
    -------
    PlateCost
        Of one plate.

    Raises
    ------
    BadInput
        If a number is out of range.

    Examples
    --------
    A quarter plate with 10 µm of silver holds nearly a gram.

    >>> round(usual_plate_cost(89.1, 3.0, 11.2).silver_g, 2)
    0.93
    """
    check_range("plate area", area_cm2, 1.0, 5000.0, "cm2")
    check_range("hours on a plate", hours, 0.0, 100.0, "h")
    check_range("gold on a plate", gold_mg, 0.0, 1e4, "mg")
    depth = trade.value("decide", "silver_um") if silver_um is None else silver_um
    check_range("silver as plated", depth, 0.0, 500.0, "µm")
    keys = ("silver_price", "gold_price", "sundries_price")
    silver_price, gold_price, sundries = prices or tuple(trade.value("decide", k) for k in keys)
    for where, price in (("silver", silver_price), ("gold", gold_price), ("sundries", sundries)):
        check_range("price of {where}".format(where=where), price, 0.0, 1e8, "")
    silver_g = area_cm2 * depth * 1e-4 * trade.value("decide", "silver_density")
    money = silver_g * silver_price + 1e-3 * gold_mg * gold_price + sundries
    return PlateCost(hours, silver_g, gold_mg, money)


def need(
    good_wanted: int,
    first: date,
    by: date,
    chance: BetaChance | DrawnChance,
    held: Whole,
    plate_cost: PlateCost,
    *,
    certainty: float | None = None,
) -> Need:
    """Return how many plates to begin, on which days, and what that takes.

    Parameters
    ----------
    good_wanted : int
        Good plates wanted, 1 to 200.
    first, by : date
        First day that can be worked, and the last; at most ten years apart.
    chance : BetaChance or DrawnChance
        Of one plate.
    held : Whole, shape (years, days)
        Plates that each day from the first to the last holds in weather years that are equally
        likely: hands and light; 0 on days without work.
    plate_cost : PlateCost
        Of one plate.
    certainty : float, optional
        Asked for; else the trade's. [1]

    Returns
    -------
    Need
        The fewest plates, filled into the days from the first on as if each had the best light that
        it has in any of the years, with the day by which the years let them be begun; when too few
        years hold them, as many as help, with the certainty that is left.

    Raises
    ------
    BadInput
        If a number or the dates are out of range.
    """
    check_range("good plates wanted", good_wanted, 1, 200, "plates")
    check_span(first, by)
    asked = trade.value("decide", "batch_certainty") if certainty is None else certainty
    fewest_plates = fewest(good_wanted, asked, chance)
    by_then = np.minimum(held.cumsum(axis=1), MOST)
    hold = by_then[:, -1]  # of each year
    most = int(hold.max(initial=0))
    tails = tails_of(good_wanted, most, chance)
    # a year that does not hold all of them is left with the odds of those it holds
    sure = tails[np.minimum(np.arange(most + 1)[:, None], hold)].mean(axis=1)
    reached = sure >= asked - TIE
    start = int(np.argmax(reached)) if reached.any() else min(fewest_plates or most, most)
    days = _fill(first, held.max(axis=0), start)
    last_low, last_high = (
        _begun_by(first, by_then, start, share) if start else None for share in (0.1, 0.9)
    )
    middle, low, high = chance_range(chance)
    prior = chance.mostly_prior if isinstance(chance, DrawnChance) else _prior(chance)
    certain = float(sure[start])
    made = Need(
        good_wanted=good_wanted,
        by=by,
        start=start,
        certainty=certain,
        asked=asked,
        enough_days=certain >= asked - TIE,
        last_low=last_low,
        last_high=last_high,
        plates_needed=fewest_plates,
        days=days,
        cost=_cost(plate_cost, tails[: start + 1]),
        chance=middle,
        chance_low=low,
        chance_high=high,
        plates_behind=chance.plates,
        mostly_prior=prior,
        words="",
    )
    return _worded(made)


def check_span(first: date, by: date) -> None:
    """Refuse a span that ends before it begins, or has more than ten years.

    Raises
    ------
    BadInput
        If it does.
    """
    if by < first:
        raise BadInput("--by", "{by} is before {first}", "give a later day", by=by, first=first)
    if (by - first).days > LONGEST_DAYS:
        raise BadInput("--by", "{by} is more than ten years away", "give a nearer day", by=by)


def _fill(first: date, holds: Whole, wanted: int) -> tuple[PlatesOnDay, ...]:
    """Return plates by day, from the first day on."""
    here = np.diff(np.minimum(holds.cumsum(), wanted), prepend=0)
    return tuple(
        PlatesOnDay(first + timedelta(days=int(at)), int(here[at])) for at in np.flatnonzero(here)
    )


def _begun_by(first: date, by_then: Whole, plates: int, share: float) -> date | None:
    """Return the day by which a share of the years has begun them all; None: not by the last."""
    years = np.sort(np.where(by_then >= plates, 0, 1).sum(axis=1))
    at = int(years[min(int(share * years.size), years.size - 1)])
    return first + timedelta(days=at) if at < by_then.shape[1] else None


def _cost(one: PlateCost, tails: Floats) -> Cost:
    """Return what all plates take, and what is taken when work ends with the last one needed."""
    start = tails.size - 1
    begun = np.arange(start + 1)
    if start:
        ended = np.diff(tails, prepend=0.0)
        ended[-1] += 1.0 - tails[-1]  # not enough by then: all were made
        total = np.cumsum(ended)
        mean = float(ended @ begun)
        low, high = (float(begun[np.argmax(total >= share - 1e-12)]) for share in (0.1, 0.9))
    else:
        mean = low = high = 0.0
    return Cost(
        hours=start * one.hours,
        silver_g=start * one.silver_g,
        gold_mg=start * one.gold_mg,
        money=start * one.money,
        expected_plates=mean,
        plates_low=low,
        plates_high=high,
        expected_hours=mean * one.hours,
        expected_silver_g=mean * one.silver_g,
        expected_gold_mg=mean * one.gold_mg,
        expected_money=mean * one.money,
    )


def _prior(chance: BetaChance) -> bool:
    """Return whether fewer plates stand behind a Beta than its belief is worth."""
    return chance.plates < 0.5 * (chance.good + chance.bad)


def _worded(made: Need) -> Need:
    good = f"{made.good_wanted} good {'plate' if made.good_wanted == 1 else 'plates'}"
    asked = f"{100.0 * made.asked:.0f} %"
    behind = "mostly starting assumptions" if made.mostly_prior else f"{made.plates_behind} plates"
    lack = (
        LACKS.format(asked=asked, wanted=made.plates_needed)
        if made.plates_needed is not None
        else NO_PROMISE.format(asked=asked)
    )
    if made.enough_days:
        template = BEGIN
    elif made.start == 0:
        template = NO_DAY
    elif made.plates_needed is not None and made.plates_needed <= made.start:
        template = TOO_DULL
    else:
        template = TOO_FEW_DAYS
    text = template.format(
        start=made.start,
        good=good,
        by=made.by,
        asked=asked,
        certainty=100.0 * made.certainty,
        lack=lack,
    )
    yielded = YIELDED.format(
        chance=100.0 * made.chance,
        low=100.0 * made.chance_low,
        high=100.0 * made.chance_high,
        behind=behind,
    )
    return replace(made, words=" ".join(filter(None, (text, yielded, _begun(made)))))


def _begun(made: Need) -> str:
    """Return by when the weather lets the last be begun, where it is not the same each year."""
    if made.last_low is None:
        return ""
    if made.last_high is None:
        return BEGUN_FROM.format(low=made.last_low, by=made.by)
    if made.last_low == made.last_high:
        return ""
    return BEGUN_BETWEEN.format(low=made.last_low, high=made.last_high)
