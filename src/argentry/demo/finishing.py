"""Fixing, gilding, drying and sealing of one invented plate, and the baths behind it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from math import exp, log

from argentry.demo.chance import happens, normal, share, weighted
from argentry.demo.days import Session
from argentry.demo.plate_story import Done, Key, fact, faults_of, plain, within, written
from argentry.demo.preparing import by_chance

DRYING = {"flame": 0.5, "hot plate": 0.35, "warm air": 0.15}


@dataclass(frozen=True)
class Fixer:
    """A fixing bath.

    Attributes
    ----------
    mixed : date
        When.
    plates : int
        Plates through it.
    """

    mixed: date
    plates: int = 0


def fixer_of(session: Session, last: Fixer | None) -> Fixer:
    """Return the fixer of a session: the old one while this maker still trusts it."""
    if last is None:
        return Fixer(session.day)
    trusted = weighted({8: 0.35, 15: 0.4, 22: 0.25}, last.mixed, "fixer trusted for days")
    return last if (session.day - last.mixed).days <= trusted else Fixer(session.day)


def water_us_cm(session: Session) -> float:
    """Return the true conductivity of the distilled water of a session, in µS/cm."""
    usual = fact("water_bad") if within(session.day, "bad_water") else fact("water_usual")
    return usual * exp(0.3 * normal(session.day, "water"))


def finish(session: Session, fixer: Fixer, minute: int, key: Key) -> Done:
    """Return the finishing of a plate.

    It fails by hard water, a tired fixer, an old gold bath, too long a gilding, or by chance.

    Parameters
    ----------
    session : Session
        The day.
    fixer : Fixer
        Before this plate.
    minute : int
        Start, from 08:00. [min]
    key : tuple
        What chance is drawn for.
    """
    tap = happens(0.015, *key, "tap")
    water = 340.0 if tap else water_us_cm(session) * exp(0.08 * normal(*key, "water"))
    age = (session.day - fixer.mixed).days
    worn = age / fact("fixer_days") + fixer.plates / fact("fixer_plates")
    joined_last_week = happens(0.04, session.day, "old gold")
    gold = (168.0 if joined_last_week else 0.0) + minute / 60.0 + 0.5
    gilding = 3.0 * exp(0.28 * normal(*key, "gilding"))
    margins = {
        "bad_water": log(water / fact("water_limit")) + 0.15 * normal(*key, "drop"),
        "tired_fixer": worn - 1.25 + 0.12 * normal(*key, "fixer"),
        "old_gold": gold / fact("gold_hours") - 1.0 if share(*key, "veil") < 0.8 else -1.0,
        "long_gilding": gilding / fact("gild_longest") - 1.0,
        "chance_finish": by_chance("chance_finish", key),
    }
    cells = {
        "fixer_age_days": str(age),
        "fixer_plates": str(fixer.plates),
        "water_kind": "tap" if tap else "distilled",
        "water_us_cm": written(water * exp(0.03 * normal(*key, "meter of water")), 1),
        "gold_age_hours": written(gold, 1),
        "gilding_minutes": written(gilding, 1),
        "drying": weighted(DRYING, *key, "drying"),
        "sealed_same_day": "yes" if happens(0.75, *key, "sealed") else "no",
    }
    hidden = {"water_us_cm": plain(water), "fixer_wear": plain(worn)}
    return Done(cells, faults_of(margins), hidden)
