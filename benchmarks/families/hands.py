"""How plates come to be: the days, the room, the boxes and baths, and the hands at work.

Nothing here spoils a plate. Rooms follow the season, baths age and are mixed again, a box is timed
by the clock, and the same hands do things a little differently each time.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from math import cos, log2, pi

import numpy as np

from benchmarks.families.studio import Work

FIRST = date(2024, 3, 4)


def habits(rng):
    """Return what one studio is used to."""
    return {
        "buff": rng.uniform(15.0, 30.0),
        "warm": rng.uniform(0.0, 8.0),  # plate above the room [K]
        "room": rng.uniform(17.0, 21.0),
        "damp": rng.uniform(46.0, 58.0),
        "rest": rng.uniform(30.0, 70.0),
        "fume": rng.uniform(50.0, 75.0),
        "wait": rng.uniform(20.0, 50.0),
        "idle": rng.uniform(12.0, 40.0),
        "develop": rng.uniform(90.0, 130.0),
        "gild": rng.uniform(2.5, 4.0),
        "f": float(rng.choice([2.8, 4.0])),
        "speed": rng.normal(0.0, 0.7),  # stops that plates need beside the trade's word
        "aim": rng.uniform(0.25, 0.5),  # stops, spread of the exposures
        "water": rng.uniform(2.0, 6.0),
        "tap": rng.uniform(0.0, 0.2),
        "a_day": int(rng.integers(2, 4)),
        "lenses": ["long"] if rng.random() < 0.6 else ["long", "short"],
        "frames": ["A"] if rng.random() < 0.5 else ["A", "B"],
        "each_day": rng.uniform(0.2, 0.5),  # share of days on which plates are made
    }


def pick(rng, words, shares=None):
    """Return one of some words, drawn by their shares; alike without."""
    if shares is None:
        return words[int(rng.random() * len(words))]
    left = rng.random()
    for word, share in zip(words, shares, strict=True):
        left -= share
        if left < 0.0:
            return word
    return words[-1]


def clip(value, low, high):
    return min(max(value, low), high)


class Hands:
    """Make plates one after the other; what lasts from plate to plate is kept here."""

    def __init__(self, rng, own):
        self.rng, self.own = rng, own
        self.day, self.session, self.order, self.number = FIRST, 0, 0, 0
        self.today: dict = {}
        self.wet = 0.0  # how far the weather of these days is off the season's damp
        self.fixer = (0.0, 0.0)  # days, plates
        self.gold = 0.0
        self.silver = 10.0
        self.plates_today = 0

    def next(self) -> Work:
        rng, own = self.rng, self.own
        if self.order >= self.plates_today:
            self._new_day()
        self.order += 1
        self.number += 1
        today = self.today
        box_c = today["room_c"] - 1.0 + rng.normal(0.0, 0.7)
        seconds = own["fume"] * 2.0 ** rng.normal(0.0, 0.15)
        nm = 25.0 * (seconds / 60.0) ** 0.6 * 2.0 ** (0.6 * (box_c - 20.0) / 7.0)
        nm *= float(np.exp(rng.normal(0.0, 0.08)))
        ev = today["ev"] + rng.normal(0.0, 0.5)
        plane = pick(rng, ("sun", "shade", "window", "overcast"), today["planes"])
        miss = rng.normal(0.0, own["aim"])  # stops given beside what this plate needed
        # the meter is for ISO 100, plates are about ISO 0.0003
        needed = own["f"] ** 2 / 2.0**ev * 100.0 / 3.0e-4 * 2.0 ** own["speed"]
        posed = clip(needed * 2.0**miss, 2.0, 3600.0)
        wait = own["wait"] * 2.0 ** rng.normal(0.0, 0.7)
        idle = own["idle"] * 2.0 ** rng.normal(0.0, 0.6)
        begun = datetime(self.day.year, self.day.month, self.day.day, 9, 40, tzinfo=UTC)
        begun += timedelta(minutes=int(75 * self.order + rng.integers(0, 30)))
        out = begun + timedelta(seconds=posed) + timedelta(minutes=idle)
        developed = own["develop"] * 2.0 ** rng.normal(0.0, 0.18)
        fresh = rng.random() < 0.35
        repolished = 0 if fresh else int(rng.integers(1, 7))
        tap = rng.random() < own["tap"]
        self.fixer = (self.fixer[0], self.fixer[1] + 1.0)
        values = {
            "silver_um": round(self.silver, 1),
            "times_repolished": repolished,
            "buff_minutes": round(own["buff"] * 2.0 ** rng.normal(0.0, 0.3), 0),
            "room_c": round(today["room_c"], 1),
            "room_rh_pct": round((clip(today["rh"] + rng.normal(0.0, 1.5), 15, 97)), 0),
            "plate_c": round(today["room_c"] + own["warm"] + rng.normal(0.0, 1.2), 1),
            "box_c": round(box_c, 1),
            "box_rest_minutes": round((clip(own["rest"] * 2.0 ** rng.normal(0.0, 0.8), 3, 600)), 0),
            "fuming_seconds": round(seconds, 0),
            "coat_nm": round(nm, 1),
            "lens": pick(rng, own["lenses"]),
            "f_number": own["f"],
            "subject_plane": plane,
            "coat_to_exposure_minutes": round(wait, 0),
            "meter_ev": round(ev, 1),
            "cloud_okta": today["okta"],
            "exposure_start": begun.isoformat(),
            "exposure_seconds": round(posed, 1),
            "exposure_to_development_minutes": round(idle, 0),
            "development_start": out.replace(microsecond=0).isoformat(),
            "development_end": (out + timedelta(minutes=developed))
            .replace(microsecond=0)
            .isoformat(),
            "frame": pick(rng, own["frames"]),
            "fixer_age_days": self.fixer[0],
            "fixer_plates": self.fixer[1],
            "water_kind": "tap" if tap else "distilled",
            "water_us_cm": round(
                float(rng.uniform(80, 400)) if tap else own["water"] * 2.0 ** rng.normal(0, 0.5), 1
            ),
            "gold_age_hours": round(self.gold + 1.5 * self.order, 1),
            "gilding_minutes": round(own["gild"] * 2.0 ** rng.normal(0.0, 0.25), 1),
            "drying": pick(rng, ("flame", "warm air", "rack"), (0.7, 0.2, 0.1)),
            "sealed_same_day": "yes" if rng.random() < 0.8 else "no",
        }
        hidden = {
            "miss_stops": log2(posed / needed),
            "developed_minutes": developed,
            "day_luck": today["luck"],
        }
        return Work(self.number, self.day, self.session, self.order, values, hidden)

    def _new_day(self):
        rng, own = self.rng, self.own
        gap = 1 + int(rng.geometric(own["each_day"])) - 1
        self.day += timedelta(days=gap)
        self.session += 1
        self.order = 0
        self.plates_today = int(rng.integers(1, own["a_day"] + 1))
        self.wet = 0.8**gap * self.wet + rng.normal(0.0, 6.0) * (1.0 - 0.64**gap) ** 0.5
        season = cos(2.0 * pi * (self.day.timetuple().tm_yday - 200) / 365.0)
        okta = pick(rng, (0, 1, 2, 4, 6, 7, 8), (0.25, 0.15, 0.15, 0.15, 0.1, 0.1, 0.1))
        dull = okta / 8.0
        self.today = {
            "room_c": own["room"] + 4.0 * season + rng.normal(0.0, 1.5),
            "rh": own["damp"] - 3.0 * season + self.wet + 4.0 * dull,
            "okta": okta,
            "ev": 14.8 + 0.4 * season - 2.0 * dull,
            "planes": [0.05, 0.15, 0.2, 0.6] if okta >= 6 else [0.5, 0.25, 0.25, 0.0],
            "luck": rng.random(),
        }
        age = self.fixer[0] + gap
        limit = rng.uniform(5.0, 16.0)
        self.fixer = (0.0, 0.0) if age > limit else (age, self.fixer[1])
        self.gold = 0.5 if rng.random() < 0.4 else min(self.gold + 24.0 * gap, 400.0)
        if rng.random() < 0.06:
            self.silver = float(rng.choice([5.0, 10.0, 15.0, 20.0]))
