"""Polish and coat of one invented plate: what was done, what was read, what really happened."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import exp, log

import numpy as np

from argentry.arrays import Floats
from argentry.demo.chance import happens, normal, share, weighted
from argentry.demo.days import Session
from argentry.demo.plate_story import Done, Key, fact, faults_of, plain, within, written
from argentry.physics.coat.coat_colour import coat_lab
from argentry.physics.coat.coat_words import colour_word
from argentry.physics.coat.colour import light
from argentry.physics.room.air import dew_margin_k, pressure_at_elevation_pa
from argentry.physics.vapour import fuming
from argentry.records.instruments import IodineBox
from argentry.trade.sizes import plate_size

SIZES = {"quarter": 0.8, "sixth": 0.14, "half": 0.06}
SILVER_UM = {12.7: 0.6, 10.0: 0.3, 5.0: 0.1}


@dataclass(frozen=True)
class Blank:
    """A plate before the day's work.

    Attributes
    ----------
    size : str
        By its name.
    silver_um : float
        As plated. [µm]
    repolished : int
        How often an earlier picture was polished off.
    """

    size: str
    silver_um: float
    repolished: int


def blank_plate(key: Key) -> Blank:
    """Return the plate that comes from the shelf."""
    times = int(-3.2 * log(share(*key, "repolished")))
    return Blank(weighted(SIZES, *key, "size"), weighted(SILVER_UM, *key, "silver"), times)


def polish(session: Session, blank: Blank, key: Key) -> tuple[Done, float]:
    """Return the polish of a plate and the minutes it took.

    It fails when buffed for less than this plate needed, when the buff was dirty, when the silver
    is worn through, or by chance.
    """
    size = (plate_size(blank.size).area_cm2 / plate_size("quarter").area_cm2) ** 0.5
    minutes = fact("buff_habit") * size * exp(0.3 * normal(*key, "buff"))
    if happens(0.015, *key, "stubborn plate"):
        minutes *= 3.5
    minutes = max(round(minutes), 4)
    needed = fact("buff_needed") * size * exp(0.2 * normal(*key, "buff needed"))
    silver_left = blank.silver_um - fact("silver_loss") * blank.repolished
    margins = {
        "short_buff": log(needed / minutes),
        "worn_silver": (fact("silver_least") - silver_left) / fact("silver_least"),
        "chance_polish": by_chance("chance_polish", key),
    }
    if within(session.day, "bad_buff"):
        # how much dirt the plate picked up, over what a mirror bears
        margins["bad_buff"] = fact("bad_buff_share") - share(*key, "dirt")
    cells = {
        "size": blank.size,
        "silver_um": written(blank.silver_um, 1),
        "times_repolished": str(blank.repolished),
        "buff_minutes": written(minutes, 0),
    }
    hidden = {"buff_needed_minutes": plain(needed), "silver_left_um": plain(silver_left)}
    return Done(cells, faults_of(margins), hidden), float(minutes)


def coat(
    session: Session, box: IodineBox, elevation_m: float, hour: float, rest_minutes: float, key: Key
) -> tuple[Done, float, float]:
    """Return the coat of a plate, its true thickness [nm] and the minutes it took.

    The maker goes by the clock, with a correction for the room that is too small for the cold.
    The coat fails when too thin or too thick, when the air is damp, when the plate is near the
    dew point, or by chance.
    """
    room, humidity = session.room_at(hour), session.humidity_at(hour)
    box_c = session.room_at(9.0 + 0.6 * (hour - 9.0)) + 0.4 * normal(*key, "box")
    # the plate waits in a cupboard, and is warmed unless forgotten
    warming = -2.5 if happens(0.1, *key, "not warmed") else 6.0 + 1.5 * normal(*key, "warmed")
    plate_c = room + warming
    cold = 20.0 - box_c
    clock = fact("clock_seconds") + (fact("clock_cold") if cold > 0 else fact("clock_warm")) * cold
    seconds = round(clock * exp(0.07 * normal(*key, "clock")))
    given = {
        "box_temperature_c": box_c,
        "gap_mm": box.gap_mm,
        "pressure_pa": float(pressure_at_elevation_pa(elevation_m)),
    }
    rested = rest_minutes * 60.0 >= float(fuming.rest_seconds(**given))
    nm = float(
        fuming.thickness_after(
            seconds,
            **given,
            cover_share=box.cover_share,
            crystal_spacing_mm=box.crystal_spacing_mm,
            rested=rested,
            box_factor=fact("box_factor"),
        )
    ) * exp(0.05 * normal(*key, "box of the day"))
    thin = fact("thin_coat") - nm
    reason = "cold_box" if cold > 3.0 else "clock_slip" if rested else "short_rest"
    dew = float(dew_margin_k(plate_c, room, humidity))
    margins = {
        reason: thin / 5.0,
        "warm_box" if cold < -3.0 else "clock_slip": (nm - fact("thick_coat")) / 10.0,
        "damp": (humidity - fact("damp_limit")) / fact("damp_width") + 0.35 * normal(*key, "damp"),
        "dew": (fact("dew_limit") - dew) / 2.0 + 0.2 * normal(*key, "dew"),
        "chance_coat": by_chance("chance_coat", key),
    }
    if reason == "clock_slip":  # both ends have one name then
        margins["clock_slip"] = max(thin / 5.0, (nm - fact("thick_coat")) / 10.0)
    hidden = {
        "coat_nm": plain(nm),
        "box_c": plain(box_c),
        "room_rh_pct": plain(humidity),
        "dew_margin_k": plain(dew),
        "box_rested": rested,
    }
    cells = {
        "room_c": written(room + 0.2 * normal(*key, "thermometer"), 1),
        "room_rh_pct": written(min(humidity + 1.5 * normal(*key, "hygrometer"), 99.0), 0),
        "plate_c": written(plate_c + 0.5 * normal(*key, "plate thermometer"), 1),
        "box_c": written(box_c + 0.2 * normal(*key, "box thermometer"), 1),
        "box_rest_minutes": written(rest_minutes, 0),
        "fuming_seconds": str(seconds),
        **_seen(nm, key),
    }
    if not session.hygrometer:
        cells["room_rh_pct"] = ""
    return Done(cells, faults_of(margins), hidden), nm, seconds / 60.0 + 7.0


@cache
def _colours() -> tuple[Floats, Floats]:
    """Return first-cycle thicknesses and their CIELAB."""
    grid = np.arange(0.0, 80.25, 0.25)
    return grid, coat_lab(grid, light("D65"))


def _seen(nm: float, key: Key) -> dict[str, str]:
    """Return what the maker sees of a coat: word, photographed colour, thickness from it."""
    grid, colours = _colours()
    true = np.array([np.interp(nm, grid, colours[:, i]) for i in range(3)])
    shown = true + 1.2 * np.array([normal(*key, "photo", axis) for axis in "Lab"])
    nearest = grid[int(np.argmin(((colours - shown) ** 2).sum(axis=1)))]
    word, cycle = colour_word(max(nm + 1.2 * normal(*key, "eye"), 0.0))
    lightness, red, yellow = (written(value, 1) for value in shown)
    return {
        "coat_colour": word,
        "coat_cycle": str(cycle),
        "coat_l": lightness,
        "coat_a": red,
        "coat_b": yellow,
        "coat_nm": written(nearest, 1),
    }


def by_chance(name: str, key: Key) -> float:
    """Return a margin past 0 in the share of plates that the truth names."""
    return (fact(name) - share(*key, name)) / fact(name) if fact(name) > 0.0 else -1.0
