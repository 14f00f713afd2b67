"""The studio's own numbers from its plates: plate speed, latitude, box factor, development dose.

They become the inputs of the next day plan by themselves, with their date and count.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from math import exp, log, log2

import numpy as np

from argentry import trade
from argentry.desk.numbers.adopted import NOTHING
from argentry.desk.numbers.good_odds import good_odds
from argentry.desk.numbers.makings import Gathered, Told, told_by
from argentry.desk.numbers.plates_seen import Seen, seen_of
from argentry.learn.numbers.box_and_dose import box_factor, development_dose, veil_ratio
from argentry.learn.numbers.exposure_belief import (
    Belief,
    GradedExposure,
    believed,
    grade_chances,
    quantiles,
)
from argentry.learn.numbers.held_out import SCATTER, coat_scatter, end_scatter, exposure_scatter
from argentry.learn.numbers.speed import (
    drift_number,
    last_change,
    learn_exposure,
    offsets,
    speed_numbers,
)
from argentry.learn.stages.table import in_order
from argentry.needs.over_iodine import box_today, computed_seconds, each_log_sd
from argentry.records.decision import Learned, OwnNumbers
from argentry.records.studio import Studio

SINCE_OPENED = (
    "Since {opened} ({day}) plates ask for {more:+.1f} stops of light ({low:+.1f} to {high:+.1f}; "
    "{plates} judged): plate speed starts afresh with a new bottle or lot."
)
NO_STUDIO = (
    "Plate speed, box factor and dose are not calculated: they need a studio's place, lens and "
    "box. Name one with --studio DIR."
)


@dataclass(frozen=True)
class Numbers(OwnNumbers):
    """The same with what stands behind the speed.

    Attributes
    ----------
    belief : Belief or None
        Speed, latitude and noise on their grid.
    exposures : tuple of GradedExposure
        Judged exposures, in order of time.
    start_speed_iso : float
        Speed to which 0 stops belong. [ISO]
    """

    belief: Belief | None
    exposures: tuple[GradedExposure, ...]
    start_speed_iso: float


def learned_numbers(gathered: Gathered, *, with_odds: bool = True, adopted: bool = True) -> Numbers:
    """Return the studio's own numbers as its plates teach them.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio.
    with_odds : bool
        False leaves out the odds of a good plate, which take longest.
    adopted : bool
        False starts from the trade's word, whatever files of other studios let assume.
    """
    gathered = gathered if adopted else replace(gathered, adopted=NOTHING)
    good, prior = good_odds(gathered) if with_odds else (None, True)
    return replace(_of_studio(told_by(gathered)), good=good, mostly_prior=prior)


def by_the_others(gathered: Gathered, making: str, whole: OwnNumbers | None) -> OwnNumbers | None:
    """Return the numbers of exposure and development as all plates but one teach them.

    A plate's own light lies beside what such plates need; that it was among those which taught
    the need would hide how far it strayed, the more so the fewer they are.

    Parameters
    ----------
    gathered : Gathered
        The plates and their studio.
    making : str
        Id of the making left out.
    whole : OwnNumbers or None
        What all teach: of it how far plates stray is taken, on which one plate hardly tells.
    """
    if gathered.studio is None:
        return whole
    start = _start_iso(gathered.studio)
    others = in_order([one for one in gathered.makings if one.id != making])
    seen = seen_of(gathered.studio, others, start)
    _, rows = _rows(gathered.studio, seen, start, _assumed(gathered))
    strayed = () if whole is None else tuple(one for one in whole.learned if one.what == SCATTER)
    return OwnNumbers((*rows, *strayed), None, mostly_prior=True, notes=())


def _start_iso(studio: Studio) -> float:
    return studio.habits.plate_speed or trade.value("exposure", "plate_speed")


def _assumed(gathered: Gathered) -> Mapping[str, tuple[float, float]]:
    return gathered.assumed.numbers if gathered.assumed else {}


@lru_cache(maxsize=4)  # a page asks three times
def _of_studio(of: Told) -> Numbers:
    """Return speed, latitude, box factor and dose; without odds."""
    studio, good, prior = of.gathered.studio, None, True
    if studio is None:
        return Numbers((), good, prior, (NO_STUDIO,), None, (), 0.0)
    start, assumed = _start_iso(studio), _assumed(of.gathered)
    seen = seen_of(studio, in_order(of.gathered.makings), start)
    belief, rows = _rows(studio, seen, start, assumed)
    days = {row.day for row in rows if row.day is not None}
    before = {
        day: {r.what: r.value for r in _rows(studio, seen.until(day), start, assumed)[1]}
        for day in days
    }
    moved = tuple(
        row if row.day is None else replace(row, before=before[row.day][row.what]) for row in rows
    )
    rows = (*moved, *_scatters(studio, seen))
    notes = _since_opened(seen, _believed(start, assumed))
    return Numbers(rows, good, prior, notes, belief, seen.exposures, start)


def _since_opened(seen: Seen, before: Belief) -> tuple[str, ...]:
    changed = last_change(seen.exposures, before)
    if changed is None:
        return ()
    first, more, low, high, plates = changed
    said = SINCE_OPENED.format(
        opened=first.opened, day=first.day, more=more, low=low, high=high, plates=plates
    )
    return (said,)


def _rows(
    studio: Studio, seen: Seen, start_iso: float, assumed: Mapping[str, tuple[float, float]]
) -> tuple[Belief, tuple[Learned, ...]]:
    """Return what is believed of the exposure, and every number; `assumed` as in `Assumed`."""
    before = _believed(start_iso, assumed)
    belief = learn_exposure(seen.exposures, before)
    box = _box_factor(studio, seen, assumed.get("box_factor"))
    speed = speed_numbers(belief, start_iso, before)
    rows = [*speed, drift_number(belief), box]
    if studio.frames[0].lamp is None:
        dose = _dose(studio, seen, assumed.get("development_dose"))
        rows += [dose, _veil(seen, dose)]
    told = assumed.keys() - _written(studio)
    adopted = (replace(row, adopted=not row.plates and row.what in told) for row in rows)
    return belief, tuple(adopted)


def _written(studio: Studio) -> set[str]:
    """Return the numbers that the maker wrote down: without a plate they go before others'."""
    habits, box = studio.habits, studio.boxes[0]
    own = {
        "plate_speed": habits.plate_speed is not None,
        "development_dose": habits.development_dose_kj_m2 is not None,
        "box_factor": box.box_factor != 1.0 or box.box_factor_log_sd is not None,
    }
    return {what for what, there in own.items() if there}


def _believed(start_iso: float, assumed: Mapping[str, tuple[float, float]]) -> Belief:
    """Return what is believed of the exposure before any plate."""
    centre, sd = 0.0, None
    if "plate_speed" in assumed:
        middle, spread = assumed["plate_speed"]
        centre, sd = log2(start_iso) - middle / log(2.0), spread / log(2.0)
    widths = {
        key: (exp(assumed[what][0]), assumed[what][1])
        for key, what in (("half", "half_latitude"), ("noise", "plate_noise"))
        if what in assumed
    }
    return believed(centre, sd, **widths)


def light_offsets(numbers: Numbers) -> tuple[Learned, ...]:
    """Return how far each kind of light lies off the rest; nothing while there is one kind only."""
    belief, exposures = numbers.belief, numbers.exposures
    if belief is None or len({one.group for one in exposures}) < 2:
        return ()
    return offsets(belief, exposures)


def _box_factor(studio: Studio, seen: Seen, assumed: tuple[float, float] | None) -> Learned:
    box = studio.boxes[0]
    measured, computed, days = _against_computed(studio, seen)
    times = box.box_factor
    before = None if assumed is None else (assumed[0] - log(times), assumed[1])
    found = box_factor(measured, computed, days, box.name, before)
    return replace(
        found,
        value=found.value * times,
        low=found.low * times,
        high=found.high * times,
        believed=found.believed * times,
        believed_low=found.believed_low * times,
        believed_high=found.believed_high * times,
    )


def _against_computed(studio: Studio, seen: Seen) -> tuple[list[float], list[float], list[date]]:
    """Return the seconds of timed coats, those computed for them, and their days."""
    coats = seen.coats
    computed = computed_seconds(
        box_today(studio),
        [one.nm for one in coats],
        [one.box_c for one in coats],
        [one.plate_c for one in coats],
        [one.humidity_pct for one in coats],
    )
    return [one.seconds for one in coats], computed.tolist(), [one.day for one in coats]


def _dose(studio: Studio, seen: Seen, assumed: tuple[float, float] | None) -> Learned:
    doses, ends, _, days, log_sds, minutes = (
        zip(*seen.ends, strict=True) if seen.ends else ((),) * 6
    )
    own = studio.habits.development_dose_kj_m2
    # what the maker wrote goes before other studios
    before = assumed if own is None else None
    return development_dose(doses, ends, days, own, before, log_sds, minutes)


def _veil(seen: Seen, dose: Learned) -> Learned:
    came_out = [one[:4] for one in seen.ends if not one.pictures_log_sd]
    doses, ends, _, days = zip(*came_out, strict=True) if came_out else ((),) * 4
    return veil_ratio(doses, ends, dose, days)


def _scatters(studio: Studio, seen: Seen) -> tuple[Learned, ...]:
    """Return how far plates strayed from what was said of each before it was made."""
    rows = [*exposure_scatter(seen.exposures)]
    if seen.coats:
        measured, computed, coated = _against_computed(studio, seen)
        each = each_log_sd(
            box_today(studio),
            [one.nm for one in seen.coats],
            [one.box_c for one in seen.coats],
            [one.plate_c for one in seen.coats],
            [one.humidity_pct for one in seen.coats],
        )
        rows.append(coat_scatter(measured, computed, each.tolist(), coated))
    came_out = [one[:4] for one in seen.ends if not one.pictures_log_sd]
    if any(end == "ripe" for _, end, _, _ in came_out):
        doses, ends, light_sds, days = zip(*came_out, strict=True)
        believed_kj_m2 = studio.habits.development_dose_kj_m2
        rows.append(end_scatter(doses, ends, light_sds, days, believed_kj_m2))
    return tuple(rows)


@dataclass(frozen=True)
class ExposureCurve:
    """The chance of a right exposure by light given, with its 80 % range.

    Attributes
    ----------
    stops : tuple of float
        Light against the starting exposure. [stops]
    right, right_low, right_high : tuple of float
        Chance at each. [1]
    """

    stops: tuple[float, ...]
    right: tuple[float, ...]
    right_low: tuple[float, ...]
    right_high: tuple[float, ...]


def exposure_curve(numbers: Numbers, stops: np.ndarray) -> ExposureCurve:
    """Return the chance of each verdict by light given, for drawing, with its 80 % range.

    Parameters
    ----------
    numbers : Numbers
        With a belief.
    stops : NDArray (m,)
        Light against the starting exposure. [stops]
    """
    belief = numbers.belief
    assert belief is not None
    chances = grade_chances(belief, stops)  # (4, m, a, b, c)
    right = chances[1].reshape(len(stops), -1)
    weight = belief.weight.ravel()
    low, high = [], []
    for row in right:
        order = np.argsort(row)
        a, b = quantiles(row[order], weight[order], (0.1, 0.9))
        low.append(float(a))
        high.append(float(b))
    middle = tuple((right @ weight).tolist())
    return ExposureCurve(tuple(stops.tolist()), middle, tuple(low), tuple(high))
