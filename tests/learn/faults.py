"""Plates with faults, and a studio where damp spoils the coats: for tests of causes."""

from __future__ import annotations

import datetime as dt

import numpy as np

from argentry.records.plate import STAGES, Making

SOUND = dict.fromkeys(STAGES, "ok")


def make(number, conditions, *, fault="", defects=(), grade=None, session=None, verdict=None):
    stages = dict(SOUND)
    if fault:
        stages[fault] = "fault"
    return Making(
        id=f"{number:05d}",
        plate=f"P{number}",
        run=None,
        session=str(number // 2 if session is None else session),
        order=1 + number % 2,
        day=dt.date(2024, 1, 1) + dt.timedelta(days=number // 2),
        conditions=conditions,
        stages=stages,
        verdict=verdict,
        grade=grade or ("lost" if fault else "good"),
        defects=tuple((d, fault) for d in defects),
    )


def damp_studio(plates, *, seed=1, limit=58.0, looks=True):
    """Return a studio in which the coat fails above a humidity, and now and then by chance."""
    rng = np.random.default_rng(seed)
    out = []
    for i in range(plates):
        damp = float(rng.normal(50, 10))
        conditions = {
            "room_rh_pct": damp,
            "buff_minutes": float(rng.normal(20, 4)),
            "water_us_cm": float(np.exp(rng.normal(1.4, 0.4))),
            "box_c": float(rng.normal(20, 2)),
            "coat_nm": float(rng.normal(25, 3)),
        }
        if damp > limit:
            out.append(make(i, conditions, fault="coat", defects=("blues",) if looks else ()))
        elif rng.random() < 0.1:
            stage = str(rng.choice(["polish", "finish"]))
            look = {"polish": "scratches", "finish": "white_specks"}[stage]
            out.append(make(i, conditions, fault=stage, defects=(look,) if looks else ()))
        else:
            out.append(make(i, conditions))
    return out


def first(told):
    return told.causes[0].cause
