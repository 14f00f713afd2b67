"""How many plates to begin for so many good ones by a day, on which days, at what cost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from argentry.arrays import Whole
from argentry.day.season.years import span_of
from argentry.desk.numbers.good_odds import chance_of_plates
from argentry.desk.numbers.makings import Gathered
from argentry.desk.numbers.own_numbers import learned_numbers
from argentry.desk.season import LONGEST, plates_by_year
from argentry.errors import BadInput, check_range
from argentry.keeping.stock.prices import gold_mg, prices
from argentry.keeping.weather import climate_of_studio
from argentry.learn.deciding.plates_a_day import plates_a_day
from argentry.learn.deciding.stage_work import usual_work
from argentry.learn.stages.fault_share import outward
from argentry.learn.stages.table import succeeded
from argentry.needs.numbers import studio_now
from argentry.plan.batch import check_span, need, usual_plate_cost
from argentry.plan.batch_odds import with_outward
from argentry.records.day import MOST_PLATES
from argentry.records.decision import Need
from argentry.records.units import Units
from argentry.records.weather import Weather
from argentry.trade.sizes import plate_size

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
GONE = (
    "{gone} of {begun} plates begun were given up for an outward reason: no time, no light or no "
    "sitter. The same share is assumed for those to come."
)
USUAL_A_DAY = 2  # plates, while no session is in the book
NO_STUDIO = "No studio is named: each day is assumed to have room for {plates} plates."
LIGHT = (
    "{some:.0f} % of the days that can be worked have light for a plate, by {years} weather years: "
    "{climate}."
)


@dataclass(frozen=True)
class Batch(Need):
    """How many plates to begin for so many good ones by a day, on which days, at what cost.

    Attributes
    ----------
    a_day : int
        Plates on one day at most.
    given_up_outward : int
        Plates given up because time, light or sitter ran out.
    begun : int
        Plates begun of which it is known how they ended, those among them.
    source : str
        Where the plates come from.
    currency : str
        Of the money: the studio's.
    notes : tuple of str
        What to know about these figures, one sentence each.
    """

    a_day: int
    given_up_outward: int
    begun: int
    source: str
    currency: str
    notes: tuple[str, ...]


def plates_needed(
    gathered: Gathered,
    good: int,
    first: date,
    by: date,
    *,
    certainty: float | None = None,
    a_day: int | None = None,
    weekdays: Sequence[str] = WEEKDAYS,
    weather: Weather | None = None,
) -> Batch:
    """Return how many plates to begin to end with so many good ones by a day.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio.
    good : int
        Good plates wanted.
    first, by : date
        First day that can be worked, and the last.
    certainty : float, optional
        Asked for; else the trade's. [1]
    a_day : int, optional
        Plates made on one day at most; None: as the studio usually does.
    weekdays : sequence of str
        Days of the week that are worked: ``mon`` to ``sun``.
    weather : Weather, optional
        A typical year or measured years; None: those that the studio file names, else the clouds
        usual there.

    Raises
    ------
    BadInput
        If a number or a day is out of range.
    """
    if a_day is not None:
        check_range("--a-day", a_day, 1, MOST_PLATES, "plates")
    if certainty is not None:
        check_range("--certainty", certainty, 0.5, 0.99, "")
    wrong = [day for day in weekdays if day not in WEEKDAYS]
    if wrong or not weekdays:
        said = (
            "{wrong!r} is not a day of the week".format(wrong=wrong[0][:20])
            if wrong
            else "no day is named"
        )
        raise BadInput("--weekdays", said, "use {weekdays}".format(weekdays=", ".join(WEEKDAYS)))
    ended = [one for one in gathered.makings if outward(one) or succeeded(one) is not None]
    gone = sum(outward(one) for one in ended)
    at_most = a_day or plates_a_day(gathered.makings) or USUAL_A_DAY
    check_span(first, by)
    held, of_days = _held(gathered, first, by, at_most, weekdays, weather)
    made = need(
        good,
        first,
        by,
        with_outward(chance_of_plates(gathered), gone, len(ended) - gone),
        held,
        usual_plate_cost(*of_a_plate(gathered), prices=prices(gathered.studio)),
        certainty=certainty,
    )
    notes = list(gathered.notes)
    if gone:
        notes.append(GONE.format(gone=gone, begun=len(ended)))
    notes.append(of_days)
    return Batch(
        **vars(made),
        a_day=at_most,
        given_up_outward=gone,
        begun=len(ended),
        source=gathered.source,
        currency=(gathered.studio.units if gathered.studio else Units()).currency,
        notes=tuple(notes),
    )


def of_a_plate(gathered: Gathered) -> tuple[float, float, float]:
    """Return area [cm2], hours of hands [h] and gold [mg] of one plate."""
    area = plate_size(gathered.size_of("")).area_cm2
    hours = sum(stage.minutes * stage.attended for stage in usual_work(area)) / 60.0
    return area, hours, gold_mg(area)


def _held(
    gathered: Gathered,
    first: date,
    by: date,
    at_most: int,
    weekdays: Sequence[str],
    weather: Weather | None,
) -> tuple[Whole, str]:
    """Return the plates that each day holds in weather years, and where the years come from."""
    dates = span_of(first, by)
    worked = np.isin([day.weekday() for day in dates], [WEEKDAYS.index(day) for day in weekdays])
    if gathered.studio is None:
        return np.where(worked, at_most, 0)[None, :], NO_STUDIO.format(plates=at_most)
    if weather is None and gathered.folder is not None:
        weather = climate_of_studio(gathered.folder, gathered.studio)
    own = studio_now(gathered.studio, learned_numbers(gathered, with_odds=False)).studio
    assert own is not None
    lit, climate = plates_by_year(own, weather, dates[:LONGEST])
    of_year = np.arange(len(dates)) % lit.shape[1]  # a later year is as the first
    held = np.where(worked, np.minimum(lit[:, of_year], at_most), 0)
    some = 100.0 * float((held[:, held.any(axis=0)] > 0).mean()) if held.any() else 0.0
    return held, LIGHT.format(some=some, years=len(held), climate=climate)
