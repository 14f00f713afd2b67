"""Invented makings for the tests of learning."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from argentry.records.plate import STAGES, Making

ALL_OK = dict.fromkeys(STAGES, "ok")


def making(number, **given):
    session = given.pop("session", str(number // 3 + 1))
    base = {
        "id": f"id-{number:04d}",
        "plate": f"P{number:03d}",
        "run": None,
        "session": session,
        "order": number % 3 + 1,
        "day": date(2024, 1, 6) + timedelta(days=7 * (number // 3)),
    }
    return Making(**{**base, **given})


def good(number, **given):
    return making(number, stages=ALL_OK, grade="good", **given)


def lost(number, stage="coat", **given):
    reached = STAGES[: STAGES.index(stage)]
    stages = {**dict.fromkeys(reached, "ok"), stage: "fault"}
    return making(number, stages=stages, grade="lost", **given)


def studio(
    plates, cause="room_rh_pct", *, centre=55.0, width=10.0, slope=1.2, stage="coat", seed=4
):
    """Return plates of which one condition of one stage decides, more being worse."""
    random = np.random.default_rng(seed)
    out = []
    for number in range(plates):
        value = centre + width * random.normal()
        ok = random.normal() < 0.6 - slope * (value - centre) / width
        make = good if ok else (lambda n, **k: lost(n, stage, **k))
        out.append(make(number, conditions={cause: float(value)}))
    return out
