"""`next` followed for 60 plates, against no change and against a random change.

The maker asks before every tenth plate. A change is kept until another of that setting is proposed;
one that is only to teach is made on one plate. What is counted is the true chance of each plate, so
that luck does not hide what the advice is worth. A setting far beyond what was usual in a studio
harms of itself, where the change brought it there: what lies there in the season's course harms
nobody who changes nothing, so it must not be laid to a change either.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from math import inf

import numpy as np

from benchmarks.families import doors
from benchmarks.families.draw import Shop
from benchmarks.families.scores import Mean
from benchmarks.families.studio import Studio

SIZES = (60, 120)
PLATES, EVERY = 60, 10
PLAIN = ("plate_c", "box_c", "coat_nm")
RANDOM = (
    *("buff_minutes", "plate_c", "box_c", "box_rest_minutes", "coat_to_exposure_minutes"),
    *("exposure_to_development_minutes", "fixer_age_days", "gold_age_hours", "gilding_minutes"),
)
SETTINGS = {*RANDOM, "fuming_seconds", "coat_nm", "fixer_plates", "water_us_cm"}
MINUTES = {  # of a plate's day, for each unit of a setting: hands or waiting
    "buff_minutes": 1.0,
    "box_rest_minutes": 1.0,
    "gilding_minutes": 1.0,
    "development_minutes": 1.0,
    "coat_to_exposure_minutes": 1.0,
    "exposure_to_development_minutes": 1.0,
}
COLUMNS = {"fuming_seconds_20c": "fuming_seconds"}  # what hands move for a setting
TOO_FAR = 0.25  # share of plates lost by a setting beyond anything that was usual
# which side harms beyond the usual: fresh baths, short waits and long rests never do
HARMS = {
    **dict.fromkeys(("plate_c", "box_c", "fuming_seconds", "coat_nm"), "both"),
    **dict.fromkeys(("gilding_minutes", "development_minutes"), "both"),
    **dict.fromkeys(("buff_minutes", "box_rest_minutes"), "low"),
}


class Settings:
    """What a maker has changed so far; a setting that is proposed again is set anew."""

    def __init__(self, made):
        self.moved: dict = {}
        self.usual: dict = {}
        for column, first in _numbers(made[0].work).items():
            seen = [_numbers(one.work).get(column, first) for one in made]
            low, high = np.quantile(seen, [0.01, 0.99])
            room = 0.4 * (high - low)
            side = HARMS.get(column, "high")
            self.usual[column] = (
                -inf if side == "high" else low - room,
                inf if side == "low" else high + room,
            )
        self.minutes, self.far = 0.0, False

    def move(self, change, start, to):
        self.moved[change] = (self.moved.get(change, (start, to))[0], to)

    def apply(self, work, once=None):
        """Change a plate that is about to be made; `once` is for this plate alone."""
        self.minutes, self.far = 0.0, False
        moves = dict(self.moved)
        if once is not None:
            change, start, to = once
            moves[change] = (moves.get(change, (start, to))[0], to)
        for change, (start, to) in moves.items():
            column = COLUMNS.get(change, change)
            before = _numbers(work).get(column)
            if before is None:
                continue
            value = before + to - start if change in PLAIN else before * to / start
            if column == "development_minutes":
                begun = datetime.fromisoformat(work.values["development_start"])
                work.hidden["developed_minutes"] = value
                ends = begun + timedelta(minutes=value)
                work.values["development_end"] = ends.replace(microsecond=0).isoformat()
            else:
                work.values[column] = round(value, 1)
            low, high = self.usual[column]
            self.far |= low <= before <= high and not low <= value <= high
            self.minutes += (value - before) * MINUTES.get(column, 0.0)


def _numbers(work):
    """Return the numbers among a plate's columns, and how long it was developed."""
    numbers = {c: v for c, v in work.values.items() if isinstance(v, int | float)}
    return {**numbers, "development_minutes": work.hidden["developed_minutes"]}


def of_studio(family, seed, plates):
    def asked(studio):
        if len(studio.made) == plates:
            return ask(doors.notebook(family, seed, plates)[1])
        return ask(doors.open_notebook(studio))

    return follow(family, seed, plates, asked)


def ask(book):
    told = doors.next_plate(book)
    if not told.change or told.from_ in (None, 0.0) or told.to is None:
        return None
    return told.change, float(told.from_), float(told.to), bool(told.explores)


def at_random(rng, made):
    """Return what somebody would try who throws dice."""
    column = RANDOM[int(rng.integers(len(RANDOM)))]
    usual = float(np.median([one.work.values[column] for one in made]))
    up = rng.random() < 0.5
    if column in PLAIN:
        return column, usual, usual + (3.0 if up else -3.0), False
    usual = max(usual, 1.0)
    return column, usual, usual * (1.4 if up else 1.0 / 1.4), False


def follow(family, seed, plates, asked):
    """Return the mean true chance of the next 60 plates under each way, and what was proposed."""
    out = {"wrong": False, "lever": False, "kept": [], "first": None}
    dice, fate = np.random.default_rng([7, seed]), np.random.default_rng([8, seed])
    for way in ("no change", "next", "random"):
        shop = Shop(family, seed)
        made = [shop.make() for _ in range(plates)]
        settings, chances, minutes, once = Settings(made), [], 0.0, None
        for n in range(PLATES):
            if n % EVERY == 0 and way != "no change":
                studio = Studio(shop.world, seed, tuple(made), shop.writer.kept, ())
                told = asked(studio) if way == "next" else at_random(dice, made)
                once = None
                if way == "next":
                    out["kept"].append(told is None)
                    out["first"] = out["first"] if n else told
                if told is not None:
                    *move, only_once = told
                    if only_once:
                        once = tuple(move)
                    else:
                        settings.move(*move)
            one = shop.make(change=lambda work, s=settings, o=once: s.apply(work, o))
            once = None
            harm = TOO_FAR if settings.far else 0.0
            if fate.random() < harm and one.good:
                one = replace(one, row={**one.row, "grade": "lost"})
            chances.append(shop.world.good(one.work) * (1.0 - harm))
            minutes += settings.minutes
            made.append(one)
        out[way] = float(np.mean(chances))
        out["minutes" if way == "next" else f"minutes of {way}"] = minutes / PLATES
        main = shop.world.main
        out["wrong"] = main is not None
        out["lever"] = main is not None and bool({*main.columns} & SETTINGS)
        out["family"] = family
    return out


def rows(results):
    """Return what was kept and gained, in points of the share of good plates."""
    out = []
    fine = [r for r in results if not r["wrong"]]
    for title, some, asked in (
        ("something is wrong", [r for r in results if r["wrong"]], ""),
        ("something is wrong that can be set", [r for r in results if r["lever"]], "+4 points"),
        ("nothing nameable is wrong", fine, "never below -1"),
    ):
        for against in ("no change", "random"):
            mean = Mean()
            for one in some:
                mean.add(one["next"] - one[against])
            told = asked if against == "no change" else ""
            out.append(
                (
                    f"next, followed for {PLATES} plates where {title}: points over {against}",
                    told,
                    mean.shown("{:+.1f}", 100.0),
                )
            )
    worst = {}
    for one in results:
        worst.setdefault(one["family"], Mean()).add(one["next"] - one["no change"])
    if worst:
        family, mean = min(worst.items(), key=lambda item: item[1].value)
        told = f"{mean.shown('{:+.1f}', 100.0)} ({family})"
        out.append(("next: points over no change in the worst family", "not below -1", told))
    first, every, minutes = Mean(), Mean(), Mean()
    for one in fine:
        first.add(one["first"] is None)
        every.add(sum(one["kept"]), len(one["kept"]))
    for one in results:
        minutes.add(one["minutes"])
    out.append(("next: keeps the settings where nothing nameable is wrong", "90 %", first.shown()))
    out.append(("next: the same over all times it was asked", "", every.shown()))
    out.append(("next: minutes more for each plate", "told", minutes.shown("{:+.1f}")))
    return out
