"""Hundreds of days: what a plan becomes when durations, doses and weather turn out as they may."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from argentry.physics.picture import dose as light_dose
from argentry.physics.stops import even_draws
from argentry.plan import daylight
from argentry.plan.shop import Drawn
from argentry.plan.tasks import DEVELOPMENT, EXPOSURE, Block

if TYPE_CHECKING:
    from argentry.arrays import Floats, Truth, Whole
    from argentry.plan.shop import Runs, Shop


NORMAL, LN2, SEED = NormalDist(), float(np.log(2.0)), 5
HOPE = 0.1  # chance of being ripe in time for which a plate is still tried
LITTLE = NORMAL.inv_cdf(HOPE)
LEAST_DRAWN = 50  # doses of which a tenth is looked for


@dataclass(frozen=True)
class Spread:
    """Simulated days of one plan.

    Attributes
    ----------
    starts, ends : Floats, shape (days, plates, blocks)
        NaN where a block was not reached. [min]
    sound : Truth, shape (days, plates)
        Plates finished that day with every keeping limit held.
    worth : Floats, shape (days, plates)
        Share of their odds that sound plates keep after their waits; 0 for the others. [1]
    late_days : float
        Share of days on which some keeping limit was overrun. [1]
    ripe_days : float
        Share of days on which some plate lay ripe in its frame beyond the limit. [1]
    """

    starts: Floats
    ends: Floats
    sound: Truth
    worth: Floats
    late_days: float
    ripe_days: float

    def of_plates(self, which: Whole) -> Spread:
        """Return the same days with plates in another order, or fewer."""
        return replace(
            self,
            starts=self.starts[:, which],
            ends=self.ends[:, which],
            sound=self.sound[:, which],
            worth=self.worth[:, which],
        )

    @property
    def finished(self) -> Whole:
        """Plates finished on each day, shape (days,)."""
        return np.asarray(self.sound.sum(axis=1))

    @property
    def all_sound(self) -> float:
        """Share of days on which every plate is finished with its limits held [1]."""
        return float(self.sound.all(axis=1).mean())


def spread_of(runs: Runs, blocks: tuple[Block, ...]) -> Spread:
    """Return the simulated days of the first of the rules."""
    return Spread(
        runs.starts[0],
        runs.ends[0],
        runs.sound[0],
        worth(runs, blocks)[0],
        float((runs.late[0] > 0.0).any(axis=1).mean()),
        float((runs.lay_ripe[0] > 0.0).any(axis=1).mean()),
    )


def worth(runs: Runs, blocks: tuple[Block, ...]) -> Floats:
    """Return the share of its odds that each plate keeps, shape (rules, days, plates) [1].

    A coat ages and a latent image fades: each minute of waiting takes its part of the probit of
    the stage that follows. A plate that is not sound keeps nothing.

    Parameters
    ----------
    runs : Runs
        The days.
    blocks : tuple of Block
        A plate's blocks.
    """
    kept = runs.sound.astype(np.float64)
    for index, block in enumerate(blocks):
        if index == 0 or block.fading == 0.0:
            continue
        wait = np.nan_to_num(runs.starts[..., index] - runs.ends[..., index - 1])
        kept *= 1.0 - wait_loss(block, wait)
    return kept


def wait_loss(block: Block, wait_minutes: Floats) -> Floats:
    """Return the share of a plate's odds that a wait before a block takes [1].

    Parameters
    ----------
    block : Block
        Its `fading` and the share of plates that come through its stage.
    wait_minutes : Floats
        Any shape. [min]
    """
    # the fall of a normal probability, by its slope and curve up to an hour or two: a table of
    # 241 minutes, as the exact one is slow in arrays
    return np.asarray(1.0 - np.interp(wait_minutes, *_left(block.usual_share, block.fading)))


@cache
def _left(usual_share: float, fading: float) -> tuple[Floats, Floats]:
    """Return minutes, and the share of a plate's odds that is left after them."""
    grid = np.arange(241.0)
    usual = NORMAL.inv_cdf(usual_share)
    return grid, np.array([NORMAL.cdf(usual - fading * m) / usual_share for m in grid])


def _luck(generator: np.random.Generator, days: int, plates: int, turned: int) -> Floats:
    """Return the luck of plates, normal, shape (days, plates) [1].

    With `turned` every second run of so many days has the luck of the run before it, turned round:
    under the same skies one is lucky where the other is not, and shares of both stray less
    (antithetic variates, Hammersley and Morton 1956).
    """
    if not turned:
        return generator.standard_normal((days, plates))
    runs = generator.standard_normal((-(-days // (2 * turned)), 1, turned, plates))
    return np.concatenate([runs, -runs], axis=1).reshape(-1, plates)[:days]


def draw_doses(
    light: daylight.DayLight, plates: int, days: int, seed: int, *, turned: int = 0
) -> tuple[Floats, ...]:
    """Return development doses by kind of frame, shape (days, plates) [J/m2].

    What is not known of the studio's median is the same for all plates of a day; the rest differs
    from plate to plate.

    Parameters
    ----------
    light : DayLight
        The day's light.
    plates, days : int
        How many.
    seed : int
        For the draws; a plate has the same luck in every kind of frame.
    turned : int
        Days after which luck turns round, as many again; 0: never.
    """
    generator = np.random.default_rng(seed)
    luck = _luck(generator, days, plates, turned)
    studio = _luck(generator, days, 1, turned)
    return tuple(
        frame.dose * np.exp(frame.dose_log_sd * luck + frame.dose_doubt_log_sd * studio)
        for frame in light.frames
    )


def draw_minutes(shop: Shop, days: int, seed: int, *, turned: int = 0) -> Floats:
    """Return drawn durations of hands-on blocks and waits, shape (days, plates, blocks) [min].

    Each step is log-normal around its median; a block is the sum of its steps.

    Parameters
    ----------
    shop : Shop
        The day's fixed part.
    days : int
        How many.
    seed : int
        For the draws; a step has the same luck whatever sort of plate it is.
    turned : int
        As of `draw_doses`.
    """
    generator = np.random.default_rng(seed)
    out = np.zeros((days, shop.plates, len(shop.blocks)))
    routes, sorts = shop.routes, shop.by_plate
    for index, block in enumerate(shop.blocks):
        if block.kind in (EXPOSURE, DEVELOPMENT):
            continue
        own = [{task.key: task for task in route[index].tasks} for route in routes]
        for key in own[0]:
            luck = _luck(generator, days, shop.plates, turned)
            steps = [tasks.get(key) for tasks in own]
            median = np.array([0.0 if one is None else one.minutes for one in steps])[sorts]
            log_sd = np.array([0.0 if one is None else one.log_sd for one in steps])[sorts]
            out[:, :, index] += median * np.exp(log_sd * luck)
    return out


def _hoped_ends(frame: daylight.Frames, used: int, *, by_sky: bool) -> Floats:
    """Return when a plate is ripe on one day in ten, or sooner, shape (1 or used, m + 1) [min].

    Parameters
    ----------
    frame : Frames
        In which it lies.
    used : int
        How many of the weathers are drawn.
    by_sky : bool
        True for a table under each of them: then only what the plate needs is hoped for.
    """
    sd = float(np.hypot(frame.dose_log_sd, frame.dose_doubt_log_sd))
    if by_sky:
        return light_dose.end_table(frame.days[:used], frame.dose * np.exp(sd * LITTLE))
    which = np.arange(max(used, LEAST_DRAWN)) % used
    doses = even_draws(frame.dose, sd / LN2, len(which), SEED)
    ends = np.nan_to_num(light_dose.end_table(frame.days[which], doses), nan=np.inf)
    soon = np.quantile(ends, HOPE, axis=0, method="nearest")
    return np.asarray(np.where(np.isfinite(soon), soon, np.nan))[None]


def draw_days(shop: Shop, light: daylight.DayLight, *, days: int, seed: int) -> Drawn:
    """Draw durations, doses and weather of many days.

    Parameters
    ----------
    shop : Shop
        The day's fixed part.
    light : DayLight
        Its weathers are used in turn.
    days : int
        How many days.
    seed : int
        For the durations and doses.
    """
    weathers = light.exposure_days.shape[0]
    used = min(days, weathers)
    lights = (light, *(sort.light for sort in shop.sorts))
    exposures = np.concatenate(
        [daylight.patient_ends(own.exposure_days[:used], own) for own in lights]
    )
    expected, ripe = shop.exposure_tables, shop.expected_ripe[:, None]
    if light.sky_seen:
        expected = exposures
        ripe = np.stack([light_dose.end_table(f.days[:used], f.dose) for f in light.frames])
    hoped = np.stack([_hoped_ends(f, used, by_sky=light.sky_seen) for f in light.frames])
    return Drawn(
        minutes=draw_minutes(shop, days, seed),
        weather=np.arange(days) % weathers,
        exposure_ends=exposures,
        sums=tuple(light_dose.LightSums.of(frame.days) for frame in light.frames),
        doses=draw_doses(light, shop.plates, days, seed + 1),
        expected_exposures=expected,
        expected_ripe=ripe,
        hoped_ripe=hoped,
        fading=light.fading,
    )


def same_light(
    drawn: Drawn,
    shop: Shop,
    light: daylight.DayLight,
    *,
    days: int,
    seed: int,
    turned: int = 0,
) -> Drawn:
    """Return `draw_days` of a shop with plates of the same sorts under the same light.

    Parameters
    ----------
    drawn : Drawn
        Other days: of another number of plates, of other luck, or another number of days. Their
        light is the same.
    shop, light, days, seed
        As of `draw_days`.
    turned : int
        As of `draw_doses`.
    """
    return replace(
        drawn,
        minutes=draw_minutes(shop, days, seed, turned=turned),
        weather=np.arange(days) % (int(drawn.weather.max()) + 1),
        doses=draw_doses(light, shop.plates, days, seed + 1, turned=turned),
    )
