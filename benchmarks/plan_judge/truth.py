"""What really happens on a day of the second simulation, in other forms than a planner may use.

Lengths of work are gamma distributed with the planner's median and spread of the logarithm, not
log-normal. A studio's median dose is log-logistic with the 80 % range that is printed for it; from
plate to plate it strays by a gamma. A sky is one of the day's own weathers; on half of the days the
clouds within it come and go by a renewal process of Weibull times, in the place of its own minutes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from argentry import trade
from argentry.records.answers.doubt import together
from argentry.sky.light_doubt import light_doubt

LOG_2 = math.log(2.0)
NINE_TO_ONE = math.log(9.0)  # logit of the 90th percentile
Z80 = 1.2815515655446004
BRIGHT_MINUTES, DARK_MINUTES, DARK_SHARE = 18.0, 12.0, 0.35


@dataclass(frozen=True)
class Truth:
    lengths: tuple  # [plate][work] -> tuple of minutes by step
    light: np.ndarray  # running sum of exposure light
    behind: tuple  # running sums behind the filter, by kind of frame
    metered: float  # dose at which the maker caps the lens
    needed: tuple  # [plate] dose that the plate really needs
    doses: tuple  # [plate][kind of frame] development dose


def gamma(rng, log_sd, size=None):
    """Draw with median 1 and the given spread of the logarithm."""
    if log_sd <= 0.0:
        return np.ones(size) if size is not None else 1.0
    variance = log_sd**2
    shape = (1.0 + math.sqrt(1.0 + 2.0 * variance)) / (2.0 * variance)  # 1/k + 1/2k^2 = variance
    median = shape * (1.0 - 1.0 / (9.0 * shape)) ** 3  # Wilson and Hilferty 1931
    return rng.gamma(shape, size=size) / median


def log_logistic(rng, log_sd):
    """Draw with median 1 and the 80 % range of a log-normal of that spread."""
    share = rng.uniform(1e-9, 1.0 - 1e-9)
    return math.exp(log_sd * Z80 / NINE_TO_ONE * math.log(share / (1.0 - share)))


def on_and_off(rng, minutes):
    """Return light by minute under clouds that come and go, with mean 1 over many days."""
    out, now = np.empty(minutes), 0.0
    bright = rng.uniform() < BRIGHT_MINUTES / (BRIGHT_MINUTES + DARK_MINUTES)
    now = -rng.uniform(0.0, 20.0)
    while now < minutes:
        mean = BRIGHT_MINUTES if bright else DARK_MINUTES
        lasts = mean / math.gamma(1.0 + 1.0 / 0.8) * rng.weibull(0.8)
        low, high = max(round(now), 0), max(round(now + lasts), 0)
        out[low:high] = 1.0 if bright else DARK_SHARE
        now += lasts
        bright = not bright
    share = BRIGHT_MINUTES / (BRIGHT_MINUTES + DARK_MINUTES)
    return out / (share + (1.0 - share) * DARK_SHARE)


def draw(setting, day, camera, plates, rng):
    """Draw one day.

    `camera` is the spread of what a plate needs before the camera, in stops (studio and plate).
    """
    light = day.light
    which = rng.integers(light.exposure_days.shape[0])
    steps = [np.diff(light.exposure_days[which])]
    steps += [np.diff(frame.days[which]) for frame in light.frames]
    middle = np.diff(light.exposure_middle)
    if rng.uniform() < 0.5:
        clouds = _clouds(rng, light, middle)
        if clouds is not None:
            level = _share(steps[0].sum(), middle.sum())
            steps[0] = middle * level * clouds
            for k, frame in enumerate(light.frames, start=1):
                if not frame.lamp:
                    still = np.diff(frame.middle)
                    steps[k] = still * _share(steps[k].sum(), still.sum()) * clouds
    # how far a clear sky's light strays from its model: the meter sees it, the planner does not
    steps[0] = steps[0] * log_logistic(rng, LOG_2 * together(light_doubt(40.0, haze_named=True)))
    sums = [np.concatenate([[0.0], np.cumsum(step)]) for step in steps]
    each = trade.value("decide", "end_point_log_sd")
    first = light.frames[0]  # from plate to plate, and what is not known of the studio
    whole = math.hypot(first.dose_log_sd, first.dose_doubt_log_sd)
    studio = log_logistic(rng, math.sqrt(max(whole**2 - each**2, 0.0)))
    doses = studio * gamma(rng, min(each, whole), plates)
    speed = LOG_2 * camera
    needs = log_logistic(rng, 0.8 * speed) * gamma(rng, 0.6 * speed, plates)
    return Truth(
        lengths=tuple(
            tuple(
                tuple(float(m * gamma(rng, sd)) for m, sd in work.steps) for work in setting.works
            )
            for _ in range(plates)
        ),
        light=sums[0],
        behind=tuple(sums[1:]),
        metered=light.exposure_dose,
        needed=tuple(float(light.exposure_dose * n) for n in needs),
        doses=tuple(tuple(float(d * f.dose) for f in light.frames) for d in doses),
    )


def as_expected(setting, day, plates):
    """Return the day on which everything takes as long as is expected."""
    light = day.light
    return Truth(
        lengths=((tuple(tuple(m for m, _ in work.steps) for work in setting.works),) * plates),
        light=light.exposure_middle,
        behind=tuple(frame.middle for frame in light.frames),
        metered=light.exposure_dose,
        needed=(light.exposure_dose,) * plates,
        doses=(tuple(frame.dose for frame in light.frames),) * plates,
    )


def _clouds(rng, light, middle):
    """Return clouds as strong as those of the day's own weathers, or None under a clear sky."""
    bright = middle > 0.1 * middle.max() if middle.size and middle.max() > 0.0 else middle > 0.0
    if bright.sum() < 120:
        return None
    some = np.diff(light.exposure_days[:20])[:, bright] / middle[bright]
    hours = some.shape[1] // 60
    own = some[:, : 60 * hours].reshape(len(some), hours, 60).mean(axis=2)
    varies = float(np.std(own / np.maximum(own.mean(axis=1, keepdims=True), 1e-9)))
    if varies < 0.02:
        return None
    # an hour of the process itself varies by about 0.2
    strength = min(varies / 0.2, 1.5)
    return np.maximum(1.0 + strength * (on_and_off(rng, len(middle)) - 1.0), 0.02)


def _share(part, whole):
    return part / whole if whole > 0.0 else 1.0
