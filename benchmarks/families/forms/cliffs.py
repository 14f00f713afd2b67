"""Cliffs: beyond a value most plates fail, before it hardly any; looks follow the trade's table."""

from __future__ import annotations

from benchmarks.families.forms.common import accidents, begin, exposure, manner, quantile
from benchmarks.families.studio import Spoiler, World

# column, side that is bad, stage, names under which it is right
CLIFFS = (
    ("room_rh_pct", "high", "coat", ("damp_air", "room_rh_pct")),
    ("box_rest_minutes", "low", "coat", ("box_not_full", "box_rest_minutes")),
    ("buff_minutes", "low", "polish", ("short_buff", "buff_minutes")),
    ("coat_to_exposure_minutes", "high", "exposure", ("long_wait", "coat_to_exposure_minutes")),
    (
        *("exposure_to_development_minutes", "high", "development"),
        ("latent_fading", "exposure_to_development_minutes"),
    ),
    ("fixer_age_days", "high", "finish", ("tired_fixer", "fixer_age_days", "fixer_plates")),
    ("times_repolished", "high", "polish", ("thin_silver", "times_repolished")),
    ("gold_age_hours", "high", "finish", ("old_gold", "gold_age_hours")),
)


def cliff(rng, pilot, entry, share, worst):
    """Return a spoiler that waits beyond the value that `share` of this studio's plates pass."""
    column, side, stage, names = entry
    limit = quantile(pilot, column, 1.0 - share if side == "high" else share)
    base = float(rng.uniform(0.0, 0.04))

    def chance(work):
        value = work.values[column]
        return worst if (value > limit if side == "high" else value < limit) else base

    usual = sorted(work.values[column] for work in pilot)
    safe = usual[len(usual) // 10 if side == "high" else -len(usual) // 10]
    return Spoiler(column, stage, chance, names, (column,), better={column: safe})


def draw(rng):
    own, pilot = begin(rng)
    first, second = rng.choice(len(CLIFFS), 2, replace=False)
    main = cliff(rng, pilot, CLIFFS[first], rng.uniform(0.25, 0.4), rng.uniform(0.55, 0.85))
    minor = cliff(rng, pilot, CLIFFS[second], rng.uniform(0.1, 0.2), rng.uniform(0.2, 0.4))
    return World(
        "cliffs",
        (main, minor, exposure(rng), *accidents(rng, 0.01, 0.06)),
        main,
        manner(rng, looks="table"),
        habits=own,
        about=f"{main.name} as a cliff",
    )
