"""What to try on the next plate, and what it would teach."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from math import log2

import numpy as np

from argentry import trade
from argentry.desk.learning.batch import of_a_plate
from argentry.desk.learning.stage_draws import usual_shares
from argentry.desk.numbers.fitted import fitted
from argentry.desk.numbers.light_received import condition_keys
from argentry.desk.numbers.makings import Gathered
from argentry.desk.numbers.own_numbers import Numbers, learned_numbers
from argentry.errors import BadInput, did_you_mean
from argentry.keeping.stock.prices import fixing_bath, prices
from argentry.learn.deciding.recent_settings import (
    chance_of,
    plate_of,
    settings_spread,
    stages_named,
    usual_settings,
)
from argentry.learn.deciding.stage_work import usual_work
from argentry.learn.deciding.steady_rate import solve_rate
from argentry.learn.deciding.trials import Metal, explores, next_change
from argentry.learn.numbers.exposure_belief import Belief
from argentry.learn.numbers.exposure_trials import best_centre, next_exposure, right_chances
from argentry.learn.numbers.speed import found
from argentry.learn.odds.fitting import Fitted
from argentry.learn.odds.odds import odds
from argentry.learn.stages.table import succeeded
from argentry.plan.batch import usual_plate_cost
from argentry.records.decision import Trial
from argentry.records.studio import Studio
from argentry.trade.conditions import conditions
from argentry.trade.decide import settings
from argentry.trade.sizes import plate_size

LEAST_CHANCE = 0.05  # of a good plate, for what one costs
LAST = 10  # exposures by which the maker's usual one is told
OFF = (
    "{reason} But expose by the day plan, whose camera time goes by how your exposures were "
    "judged: your last {plates} were {stops:.1f} stops too {word}."
)
LONG, SHORT = "long", "short"


@dataclass(frozen=True)
class NextPlate(Trial):
    """The one thing to change on the next plate, and what it would teach.

    Attributes
    ----------
    stage : str or None
        Stage it acts on, of which the chances are; None where they are of the whole plate, as for
        a cause that is named though faults are not booked.
    mostly_prior : bool
        True while it rests on belief more than on plates.
    commissioned : bool
        True when the plate is promised: nothing is tried on it.
    source : str
        Where the plates come from.
    notes : tuple of str
        What to know about these figures, one sentence each.
    exposed_off_stops : float or None
        How much more light than plates ask for the last ones had, where that is named as a cause.
    """

    stage: str | None
    mostly_prior: bool
    commissioned: bool
    source: str
    notes: tuple[str, ...]
    exposed_off_stops: float | None


def next_plate(
    gathered: Gathered,
    *,
    commissioned: bool = False,
    fixed: Collection[str] = (),
    about: str | None = None,
) -> NextPlate:
    """Return what to change on the next plate, and what it would teach.

    Parameters
    ----------
    gathered : Gathered
        The plates.
    commissioned : bool
        True when the plate is promised: nothing is tried on it.
    fixed : collection of str
        Conditions that cannot be changed now.
    about : str, optional
        ``"exposure"`` or ``"conditions"``; None: the exposure until the speed is found.

    Raises
    ------
    BadInput
        If a word is not known.
    """
    if about not in (None, "exposure", "conditions"):
        raise BadInput(
            "--about", "{about!r} is not known", "say exposure or conditions", about=about
        )
    for key in fixed:
        check_setting("--fixed", key)
    numbers = learned_numbers(gathered, with_odds=False)
    seeks = not commissioned and _seeks_speed(numbers)
    off = None
    if about == "exposure" and numbers.belief is None:
        raise BadInput("--about exposure", "no studio is named", "name one with --studio DIR")
    if about == "exposure" or (about is None and seeks):
        trial = _exposure(numbers, commissioned=commissioned)
        stage = _stage_of(trial.change)
    else:
        trial, stage = _condition(gathered, commissioned=commissioned, fixed=fixed)
        if numbers.belief is not None:
            off, last = _exposed_off(gathered, numbers.belief)
            if off is not None:
                word = LONG if off > 0.0 else SHORT
                reason = OFF.format(reason=trial.reason, plates=last, stops=abs(off), word=word)
                trial = replace(trial, reason=reason)
    return NextPlate(
        **vars(trial),
        stage=stage,
        mostly_prior=trial.plates < trade.value("causes", "plates_to_name"),
        commissioned=commissioned,
        source=gathered.source,
        notes=(*gathered.notes, *numbers.notes),
        exposed_off_stops=off,
    )


def _stage_of(change: str) -> str | None:
    if not change:
        return None
    return next((c.stage for c in conditions() if c.key == change), "exposure")


def _seeks_speed(numbers: Numbers) -> bool:
    """Return whether a plate is better spent on the speed: it is not found, and pictures suffer."""
    belief = numbers.belief
    if belief is None or found(belief):
        return False
    right = right_chances(belief, np.array([best_centre(belief)]))[0]
    return bool(right < trade.value("decide", "sure_enough"))


def check_setting(where: str, key: str) -> None:
    """Refuse what is not a condition that a maker sets.

    Raises
    ------
    BadInput
        The sentence names one that is near, or all of them.
    """
    if key not in settings():
        every = "use one of {settings}".format(settings=", ".join(settings()))
        right = did_you_mean(key, settings(), every, 0.7)
        raise BadInput(where, "{key!r} is not a setting you can change".format(key=key[:40]), right)


def _exposure(numbers: Numbers, *, commissioned: bool) -> Trial:
    """Return the next exposure, counted from the exposure that the day plan would give."""
    assert numbers.belief is not None
    trial = next_exposure(numbers.belief, commissioned=commissioned)
    speed = numbers.of("plate_speed")
    # the plan takes the learned speed: 0 stops is what it says
    shift = 0.0 if speed is None else log2(numbers.start_speed_iso / speed.value)
    return replace(
        trial,
        from_=None if trial.from_ is None else round(trial.from_ - shift, 3),
        to=None if trial.to is None else round(trial.to - shift, 3),
        steps=tuple(round(step - shift, 3) for step in trial.steps),
        unit="stops from the day plan's exposure",
    )


def _condition(
    gathered: Gathered, *, commissioned: bool, fixed: Collection[str]
) -> tuple[Trial, str | None]:
    """Return the change to make, and the stage of which its chances are."""
    fit = fitted(gathered.makings, gathered.assumed)
    graded = sum(succeeded(one) is not None for one in gathered.makings)
    now = settings_now(gathered.studio, fit)
    # every third plate may try something; the same until the next plate is graded
    turn = graded % int(trade.value("decide", "explore_every"))
    usual = odds(fit, {})
    area = plate_size(gathered.size_of("")).area_cm2
    plate, stages = plate_of(fit), stages_named(fit)
    minute = solve_rate(usual_work(area, usual_shares(fit, usual))).per_minute
    trial = next_change(
        chance_of(fit),
        now,
        exploring=explores(turn, commissioned=commissioned),
        commissioned=commissioned,
        plates=graded,
        minute=minute,
        metal=metal_worth(gathered, usual.probability, minute),
        fixed=fixed,
        spread=settings_spread(fit),
        plate=plate,
        stages=stages,
    )
    if trial.change:
        whole = plate is not None and trial.change in plate.asked
        return trial, None if whole else stages.get(trial.change, _stage_of(trial.change))
    kept = replace(
        trial, chance=usual.probability, chance_low=usual.low, chance_high=usual.high,
        chance_before=usual.probability,
    )  # fmt: skip
    return kept, None


def _exposed_off(gathered: Gathered, belief: Belief) -> tuple[float | None, int]:
    """Return how far the last exposures lie off, where that is named as a cause, and how many."""
    key = condition_keys()[0]
    named = (row for row in fitted(gathered.makings, gathered.assumed).causes.causes if row.named)
    given = [one.conditions.get(key) for one in gathered.makings]
    last = [stops for stops in given if isinstance(stops, float)][-LAST:]
    if not last or not any(key in row.conditions for row in named):
        return None, 0
    stops = float(np.mean(last)) - best_centre(belief)
    near = abs(stops) < trade.value("decide", "close_enough")
    return (None, 0) if near else (round(stops, 3), len(last))


def metal_worth(gathered: Gathered, chance: float, minute: float) -> Metal:
    """Return what silver, gold and a fixing bath are worth here, in good plates.

    A good plate is worth what it costs: metal, sundries and hours of a plate, over its chance.

    Parameters
    ----------
    gathered : Gathered
        The plates, with the studio's prices if there is one.
    chance : float
        Of a good plate. [1]
    minute : float
        What a minute of the day is worth. [good plates]
    """
    area, hours, gold = of_a_plate(gathered)
    studio, (silver_price, gold_price, _) = gathered.studio, prices(gathered.studio)
    one = usual_plate_cost(area, hours, gold, prices=prices(studio))
    hour = 0.0 if studio is None else studio.prices.hour or 0.0
    good = (one.money + hours * hour) / max(chance, LEAST_CHANCE)
    silver_g = area * 1e-4 * trade.value("decide", "silver_density")
    mixing = minute * trade.value("decide", "fixer_minutes")
    return Metal(
        silver_g * silver_price / good,
        1e-3 * gold * gold_price / good,
        fixing_bath(studio, area) / good + mixing,
    )


def settings_now(studio: Studio | None, fit: Fitted) -> dict[str, float | str]:
    """Return the usual settings: of the plates, else as the studio writes them down."""
    return {**_of_studio(studio), **usual_settings(fit)}


def _of_studio(studio: Studio | None) -> dict[str, float | str]:
    if studio is None:
        return {}
    box = studio.boxes[0].temperature_c
    now: dict[str, float | str] = {
        "coat_nm": studio.habits.coat_nm,
        "box_c": studio.room.temperature_c if box is None else box,
    }
    if studio.water.conductivity_us_cm is not None:
        now["water_us_cm"] = studio.water.conductivity_us_cm
    return now
