"""How many plates to begin to end with so many good ones by a day, and on which days."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from typing import TYPE_CHECKING

import numpy as np

from argentry import trade
from argentry.errors import BadInput, check_range
from argentry.plan.batch_odds import MOST, BetaChance, DrawnChance, chance_range, fewest, tails_of
from argentry.records.decision import Cost, Need, PlatesOnDay

if TYPE_CHECKING:
    from collections.abc import Callable
    from datetime import date

    from argentry.arrays import Floats


LONGEST_DAYS = 3660


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
    plates_on: Callable[[date], int],
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
    plates_on : Callable[[date], int]
        Plates that a day holds: hands and the season's light; 0 on days without work.
    plate_cost : PlateCost
        Of one plate.
    certainty : float, optional
        Asked for; else the trade's. [1]

    Returns
    -------
    Need
        The fewest plates, filled into the days from the first on; when the days do not hold them
        all, as many as they hold, with the certainty that is left.

    Raises
    ------
    BadInput
        If a number or the dates are out of range.
    """
    check_range("good plates wanted", good_wanted, 1, 200, "plates")
    if by < first:
        raise BadInput("by", "{by} is before {first}", "give a later day", by=by, first=first)
    if (by - first).days > LONGEST_DAYS:
        raise BadInput("by", "{by} is more than ten years away", "give a nearer day", by=by)
    asked = trade.value("decide", "batch_certainty") if certainty is None else certainty
    fewest_plates = fewest(good_wanted, asked, chance)
    wanted = MOST if fewest_plates is None else fewest_plates
    days = _fill(first, by, plates_on, wanted)
    start = sum(day.plates for day in days)
    tails = tails_of(good_wanted, start, chance)
    middle, low, high = chance_range(chance)
    prior = chance.mostly_prior if isinstance(chance, DrawnChance) else _prior(chance)
    certain = float(tails[start])
    made = Need(
        good_wanted=good_wanted,
        by=by,
        start=start,
        certainty=certain,
        asked=asked,
        enough_days=start == fewest_plates,
        plates_needed=fewest_plates,
        days=days,
        cost=_cost(plate_cost, tails),
        chance=middle,
        chance_low=low,
        chance_high=high,
        plates_behind=chance.plates,
        mostly_prior=prior,
        words="",
    )
    return _worded(made)


def _fill(
    first: date, by: date, plates_on: Callable[[date], int], wanted: int
) -> tuple[PlatesOnDay, ...]:
    """Return plates by day, from the first day on."""
    days, left = [], wanted
    for i in range((by - first).days + 1):
        day = first + timedelta(days=i)
        here = min(max(0, int(plates_on(day))), left)
        if here:
            days.append(PlatesOnDay(day, here))
            left -= here
        if left == 0:
            break
    return tuple(days)


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
    yielded = (
        "Of plates begun {chance:.0f} % come out good "
        "({chance_low:.0f} to {chance_high:.0f} %; {behind}).".format(
            chance=100.0 * made.chance,
            chance_low=100.0 * made.chance_low,
            chance_high=100.0 * made.chance_high,
            behind=behind,
        )
    )
    if made.enough_days:
        text = "Begin {start} for {good} by {by} with {asked} certainty. {yielded}".format(
            start=made.start, good=good, by=made.by, asked=asked, yielded=yielded
        )
    elif made.start == 0:
        text = "No day until {by} holds a plate. {yielded}".format(by=made.by, yielded=yielded)
    else:
        wanted = made.plates_needed
        lack = (
            "{asked} would need {wanted}".format(asked=asked, wanted=wanted)
            if wanted is not None
            else "{asked} cannot be promised with so little known".format(asked=asked)
        )
        text = (
            "The days until {by} hold {start} plates, which give {good} with "
            "{certainty:.0f} % certainty; {lack}. {yielded}".format(
                by=made.by,
                start=made.start,
                good=good,
                certainty=100.0 * made.certainty,
                lack=lack,
                yielded=yielded,
            )
        )
    return replace(made, words=text)
